"""What differs between two versions: from where on, in which frames, and for how long."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

from msgspec import Struct

from retime.report.differences import Difference, both, difference, natural, told
from retime.report.film_runs import film_runs, lone_frames, together
from retime.report.numbers import measured
from retime.report.version_parting import Parting, parting_of
from retime.speedmap.lasting import Lasting, parting
from retime.speedmap.model import ShotKind

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from fractions import Fraction

    from retime.edition.edition import Edition
    from retime.plan.timeline import Timeline
    from retime.speedmap.model import Version

__all__ = ["Stretches", "VersionPair", "pair_of"]

Stretches: TypeAlias = tuple[tuple[Lasting | None, Lasting | None], ...]


class VersionPair(Struct, frozen=True, kw_only=True):
    """Two versions; a side is None where there is none of that name.

    ``runtimes`` are true times in seconds, ``speeds`` the runs of film frames that do not last as
    long in both, ``titles`` the rules for these, and ``cards`` the titles that stand longer in one.
    """

    left: str | None
    right: str | None
    runtimes: tuple[Fraction, Fraction] | None = None
    parts: Parting | None = None
    speeds: Stretches = ()
    titles: tuple[Difference, ...] = ()
    cards: tuple[tuple[str, Fraction, Fraction], ...] = ()

    @property
    def alike(self) -> bool:
        """Say whether there are two, and nothing differs."""
        there = self.left is not None and self.right is not None
        return there and self.parts is None and not (self.speeds or self.titles or self.cards)


def pair_of(left: Edition, right: Edition, name: str, other: str) -> VersionPair:
    """Return what differs between version ``name`` of one edition and ``other`` of another."""
    ours, others = left.speed_map.versions.get(name), right.speed_map.versions.get(other)
    if ours is None or others is None:
        return VersionPair(left=name if ours else None, right=other if others else None)
    one, two = left.timelines[name], right.timelines[other]
    runtimes = (one.duration, two.duration)
    runs = film_runs(one, lone_frames(left, name)), film_runs(two, lone_frames(right, other))
    return VersionPair(
        left=name,
        right=other,
        runtimes=None if one.duration == two.duration else runtimes,
        parts=parting_of(one, two),
        speeds=tuple(_joined(parting(*runs))),
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
    said |= {key: rule and _seconds(getattr(rule.limits, name)) for key, name in names.items()}
    return said | {"loop": rule and rule.loop}


def _seconds(time: Fraction | None) -> str | None:
    return None if time is None else f"{measured(time)} s"


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


def _joined(
    found: Iterable[tuple[Lasting | None, Lasting | None]],
) -> Iterator[tuple[Lasting | None, Lasting | None]]:
    """Yield runs that differ, those joined that go on alike on both sides."""
    held: tuple[Lasting | None, Lasting | None] | None = None
    for pair in sorted(found, key=_place):
        longer = held and tuple(map(_goes_on, held, pair))
        if held is not None and longer and None not in longer:
            held = (longer[0] or None, longer[1] or None)
            continue
        if held is not None:
            yield held
        held = pair
    if held is not None:
        yield held


def _place(pair: tuple[Lasting | None, Lasting | None]) -> tuple[Any, ...]:
    run = pair[0] or pair[1]
    return (natural(run.reel), run.reel, run.first) if run else ()


def _goes_on(one: Lasting | None, other: Lasting | None) -> Any:
    """Return two runs as one; False where both are nothing, None where they do not go on."""
    if one is None and other is None:
        return False
    return together(one, other) if one is not None and other is not None else None
