"""What differs between two versions: from where on, in which frames, and for how long."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from msgspec import Struct

from retime.report.comparison_followers import seconds_said
from retime.report.differences import Difference, both, difference, told
from retime.report.film_runs import film_runs, lone_frames
from retime.report.version_assembly import assembly_apart, excerpts_of
from retime.report.version_parting import Parting, parting_of
from retime.report.version_speeds import speeds_apart
from retime.speedmap.model import ShotKind

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from retime.plan.timeline import Timeline
    from retime.report.comparison_side import Side
    from retime.report.version_speeds import Stretches
    from retime.speedmap.model import Version

__all__ = ["VersionPair", "pair_of"]


class VersionPair(Struct, frozen=True, kw_only=True):
    """Two versions; a side is None where there is none of that name.

    ``runtimes`` are true times in seconds, ``speeds`` the runs of film frames that do not last as
    long in both, ``assembly`` what is put in, left out, put in place and turned round, ``titles``
    the rules for these, and ``cards`` the titles that stand longer in one.
    """

    left: str | None
    right: str | None
    runtimes: tuple[Fraction, Fraction] | None = None
    parts: Parting | None = None
    speeds: Stretches = ()
    assembly: tuple[Difference, ...] = ()
    titles: tuple[Difference, ...] = ()
    cards: tuple[tuple[str, Fraction, Fraction], ...] = ()

    @property
    def alike(self) -> bool:
        """Say whether there are two, and nothing differs."""
        there = self.left is not None and self.right is not None
        found = self.speeds or self.assembly or self.titles or self.cards
        return there and self.parts is None and not found


def pair_of(sides: tuple[Side, Side], name: str, other: str) -> VersionPair:
    """Return what differs between version ``name`` of one side and ``other`` of the other."""
    left, right = (side.edition for side in sides)
    ours, others = left.speed_map.versions.get(name), right.speed_map.versions.get(other)
    if ours is None or others is None:
        return VersionPair(left=name if ours else None, right=other if others else None)
    one, two = left.timelines[name], right.timelines[other]
    runtimes = (one.duration, two.duration)
    excerpts = excerpts_of(left, name), excerpts_of(right, other)
    return VersionPair(
        left=name,
        right=other,
        runtimes=None if one.duration == two.duration else runtimes,
        parts=parting_of(one, two, sides),
        speeds=speeds_apart(
            film_runs(one, lone_frames(left, name), excerpts[0].units),
            film_runs(two, lone_frames(right, other), excerpts[1].units),
        ),
        assembly=tuple(assembly_apart(sides, (name, other), excerpts)),
        titles=tuple(told(_title_rules(ours, others))),
        cards=tuple(_cards(one, two)),
    )


def _title_rules(left: Version, right: Version) -> Iterator[Difference | None]:
    sides = [_title_rule(version) for version in (left, right)]
    for what in sides[0]:
        yield difference("titles", what, sides[0][what], sides[1][what])


def _title_rule(version: Version) -> dict[str, Any]:
    rule = version.titles
    names = {"at least": "at_least", "at most": "at_most", "for": "exactly"}
    said: dict[str, Any] = {"speed": rule and rule.speed and rule.speed.text}
    said |= {key: rule and seconds_said(getattr(rule.limits, name)) for key, name in names.items()}
    return said | {"loop": rule and rule.loop}


def _cards(left: Timeline, right: Timeline) -> Iterator[tuple[str, Fraction, Fraction]]:
    """Yield the titles that stand longer on one side than on the other."""
    ours, others = _title_times(left), _title_times(right)
    for name in both(ours, others):
        if name in ours and name in others and ours[name] != others[name]:
            yield name, ours[name], others[name]


def _title_times(timeline: Timeline) -> dict[str, Fraction]:
    times: dict[str, Fraction] = {}
    for unit in timeline.units:
        if unit.kind is ShotKind.TITLE and unit.shot is not None:
            name = f"{timeline.reels[unit.reel].name}/{unit.shot}"
            times.setdefault(name, unit.stop - unit.start)
    return times
