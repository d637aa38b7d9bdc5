"""What stands before and after the film, put together from a document's sections."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.findings import Finding
from retime.speedmap.model import Leader

if TYPE_CHECKING:
    from retime.speedmap.document import LeaderSection
    from retime.speedmap.place import Where

__all__ = ["leaders_of"]

_RULE = "leader"
_CONTENTS = ("black", "still", "movie")


def leaders_of(
    sections: LeaderSection | list[LeaderSection], where: Where, findings: list[Finding]
) -> tuple[Leader, ...]:
    """Return the leaders of a head or a tail; what is wrong with one is added to ``findings``."""
    if not isinstance(sections, list):
        found = [_leader(sections, where, findings)]
    else:
        found = [_leader(one, where.inside(at), findings) for at, one in enumerate(sections)]
    return tuple(one for one in found if one is not None)


def _leader(section: LeaderSection, where: Where, findings: list[Finding]) -> Leader | None:
    given = [one for one in _CONTENTS if getattr(section, one) is not None]
    text = hint = ""
    if len(given) != 1:
        text = f"a piece of leader shows one thing, and this one {len(given) or 'none'}"
        hint = "give it black: 10 s, still: or movie:"
    elif section.still is not None and section.lasts is None:
        text, hint = "a still needs to be told how long it stands", "such as for: 5 s"
    elif section.still is None and section.lasts is not None:
        text = f"{given[0]} takes no for"
        hint = "write black: 10 s" if section.black is not None else "a movie runs its own length"
    if text:
        findings.append(Finding(place=where.of(), rule=_RULE, text=text, hint=hint))
        return None
    return Leader(
        lasts=section.black if section.still is None else section.lasts,
        still=section.still,
        movie=section.movie,
        where=where,
    )
