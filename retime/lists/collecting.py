"""Listed shots put together: parts joined, named, in order, and none over another."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.errors import DocumentError
from retime.findings import Finding, Severity, TextPlace
from retime.speedmap.model import ShotKind
from retime.yamldoc.quoting import quoted, suggestion

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from retime.lists.listed import Listed, ShotList
    from retime.lists.terms import Terms

__all__ = ["collected"]

_RULE = "shots"
_LONGEST_NAME = 100
_NAME_HINT = "a name is printable, has no slash, and is at most 100 characters long"


def collected(
    lists: Sequence[ShotList], path: Path, terms: Terms
) -> tuple[list[Listed], list[Finding]]:
    """Return the shots of all lists as a table has them, and what is odd about them.

    Parts of one name are one shot. Shots without a name are numbered by their place in the reel.
    Each has a ``last`` and a name. ``path`` is that of the first list, for what is of no one line.

    Raises:
        DocumentError: shots lie over one another, or one has no end.
    """
    collecting = _Collecting(path, terms)
    for one in lists:
        collecting.take(one.shots)
    shots = collecting.shots()
    if collecting.errors:
        warnings = [found for one in lists for found in one.findings]
        raise DocumentError([*warnings, *collecting.errors])
    return shots, collecting.warnings


class _Collecting:
    def __init__(self, path: Path, terms: Terms) -> None:
        self._path, self._terms = path, terms
        self._parts: list[Listed] = []
        self.errors: list[Finding] = []
        self.warnings: list[Finding] = []

    def take(self, shots: Iterable[Listed]) -> None:
        """Take the shots of a list; those of reels that are not known are told."""
        for shot in shots:
            if self._terms.reels and shot.reel not in self._terms.reels:
                hint = suggestion(shot.reel, self._terms.reels)
                self._error(shot, f"there is no reel {quoted(shot.reel)} in the map", hint)
            elif not _is_name(shot.reel):
                what = f"{quoted(shot.reel)} is no name of a reel"
                self._error(shot, what, f"{_NAME_HINT}; --reel says which it is")
            else:
                self._parts.append(shot)

    def shots(self) -> list[Listed]:
        """Return the shots, reel by reel, in the order of their frames."""
        by_reel: dict[str, list[Listed]] = {reel: [] for reel in self._terms.reels}
        for one in self._parts:
            by_reel.setdefault(one.reel, []).append(one)
        found: list[Listed] = []
        for parts in by_reel.values():
            found += self._named(self._apart(self._joined(self._ended(parts))))
        if not found and not self.errors:
            what = "there is no shot in the list"
            place = TextPlace(path=self._path)
            self.errors.append(Finding(place=place, rule=_RULE, text=what))
        return found

    def _ended(self, parts: list[Listed]) -> list[Listed]:
        """Give an end to shots that run up to the next one."""
        if all(one.last is not None for one in parts):
            return parts
        parts = sorted(parts, key=lambda one: one.first)
        ended: list[Listed] = []
        for here, after in pairwise([*parts, None]):
            if here is None:
                continue
            if here.last is not None:
                ended.append(here)
            elif after is not None:
                ended.append(replace(here, last=max(here.first, after.first - 1)))
            else:
                ended += self._last(here)
        return ended

    def _last(self, shot: Listed) -> list[Listed]:
        last = self._terms.known(shot.reel).last
        if last is None:
            hint = "give its last frame too, or --map MAP, which knows the reel's last"
            self._error(shot, f"nothing says where the last shot of reel {shot.reel} ends", hint)
            return []
        if last < shot.first:
            self._error(shot, f"the shot begins behind the reel's last frame, {last}")
            return []
        return [replace(shot, last=last)]

    @staticmethod
    def _joined(parts: list[Listed]) -> list[Listed]:
        """Join parts of one name, and leave out frozen frames that lie in other shots."""
        named: dict[str, Listed] = {}
        others: list[Listed] = []
        for one in parts:
            if one.shot is None:
                others.append(one)
                continue
            before = named.get(one.shot)
            if before is None:
                named[one.shot] = replace(one, frozen=False)
                continue
            title = ShotKind.TITLE in {one.kind, before.kind}
            named[one.shot] = replace(
                before,
                first=min(before.first, one.first),
                last=max(before.last or 0, one.last or 0),
                kind=ShotKind.TITLE if title else ShotKind.ACTION,
                name=before.name or one.name,
            )
        moving = [*named.values(), *(one for one in others if not one.frozen)]
        still = [one for one in others if one.frozen and not _inside(one, moving)]
        return [*moving, *still]

    def _apart(self, shots: list[Listed]) -> list[Listed]:
        """Put shots in order; one that lies over another is told."""
        found: list[Listed] = []
        again: Counter[str] = Counter()
        for one in sorted(shots, key=lambda shot: (shot.first, shot.last or 0)):
            before = found[-1] if found else None
            if before is None or before.last is None or one.first > before.last:
                found.append(one)
            elif (one.first, one.last) == (before.first, before.last) and one.shot is None:
                again[one.reel] += 1
            else:
                what = (
                    f"frames {one.first}-{one.last} of reel {one.reel} lie over frames "
                    f"{before.first}-{before.last}, listed on line {before.place.line}"
                )
                self._error(one, what, "shots of a map stand side by side on the scan")
        for reel, count in again.items():
            self._warn(f"{count} events of reel {reel} show once more what another shows")
        return found

    def _named(self, shots: list[Listed]) -> list[Listed]:
        """Number shots that have no name, and shorten what no map takes."""
        taken = {one.shot for one in shots}
        named: list[Listed] = []
        for number, one in enumerate(shots, start=1):
            shot = one.shot
            if shot is None:
                shot, more = str(number), number
                while shot in taken:
                    more += 1
                    shot = str(more)
                taken.add(shot)
            elif not _is_name(shot):
                self._error(one, f"{quoted(shot)} is no name of a shot", _NAME_HINT)
            title = "".join(c if c.isprintable() else " " for c in one.name or "")
            named.append(replace(one, shot=shot, name=" ".join(title.split()) or None))
            self._check_inside(one)
        return named

    def _check_inside(self, shot: Listed) -> None:
        reel = self._terms.reels.get(shot.reel)
        if reel is None:
            return
        last = shot.first if shot.last is None else shot.last
        if shot.first < reel.first or (reel.last is not None and last > reel.last):
            end = "its last" if reel.last is None else str(reel.last)
            what = (
                f"frames {shot.first}-{last} lie outside of the picture of reel {shot.reel}, "
                f"{reel.first} to {end}"
            )
            self.warnings.append(
                Finding(place=shot.place, rule=_RULE, text=what, severity=Severity.WARNING)
            )

    def _error(self, shot: Listed, text: str, hint: str = "") -> None:
        self.errors.append(Finding(place=shot.place, rule=_RULE, text=text, hint=hint))

    def _warn(self, text: str) -> None:
        place = TextPlace(path=self._path)
        self.warnings.append(Finding(place=place, rule=_RULE, text=text, severity=Severity.WARNING))


def _is_name(text: str) -> bool:
    """Tell whether a map takes a name of a reel or a shot."""
    whole = bool(text) and text.isprintable() and text == text.strip()
    return whole and "/" not in text and len(text) <= _LONGEST_NAME


def _inside(one: Listed, others: Iterable[Listed]) -> bool:
    return any(
        other.first <= one.first and (one.last or 0) <= (other.last or 0) for other in others
    )
