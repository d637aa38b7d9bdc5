"""The versions of an edition side by side, and their shots one by one, as rows of a page."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from retime.film.clock import clock
from retime.film.rounding import half_up
from retime.plan.timeline import Eased, Shows
from retime.report.numbers import decimal
from retime.speedmap.model import ShotKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.edition.edition import Edition
    from retime.plan.timeline import Stretch, Timeline, Unit
    from retime.speedmap.assembly import Assembly
    from retime.speedmap.model import Limits, SpokenPace, Version

__all__ = ["Shot", "VersionRow", "shots_of", "version_rows"]

_MOST = 6  # rules for reels, or for shots, that are told one by one


class VersionRow(NamedTuple):
    """A version: its speeds in the map's words, its runtime, and what that is beside the first's.

    ``beside`` is empty for the first.
    """

    name: str
    speeds: list[str]
    true_runtime: str
    beside: str
    frames: int


class Shot(NamedTuple):
    """What lies between two cuts of a version: where it stands, from when, how long, how fast."""

    reel: str
    shot: str
    title: str
    kind: str
    frames: str
    start: str
    lasts: str
    speed: str


def version_rows(edition: Edition) -> list[VersionRow]:
    """Return the versions that deliverables are made of, in the map's order."""
    timelines = edition.timelines
    names = [name for name in edition.speed_map.versions if name in timelines]
    return [
        VersionRow(
            name=name,
            speeds=list(_speeds(edition, edition.speed_map.versions[name])),
            true_runtime=clock(timelines[name].duration),
            beside=_beside(timelines[name], timelines[names[0]]) if name != names[0] else "",
            frames=timelines[name].source_frames,
        )
        for name in names
    ]


def _beside(one: Timeline, first: Timeline) -> str:
    difference = one.duration - first.duration
    if not difference:
        return "as long"
    told = "longer" if difference > 0 else "shorter"
    share = decimal(100 * abs(difference) / first.duration, 2)
    beside = f"{clock(abs(difference))} {told}"
    return f"{beside} ({share} %)" if Fraction(share) else beside


def _speeds(edition: Edition, version: Version) -> Iterator[str]:
    """Yield what the map says of a version's speeds, each part as it was written."""
    if version.speed is not None:
        yield str(version.speed)
    solved = edition.solved.get(version.name)
    found = "" if solved is None else f", which makes {decimal(1 / solved, 6)} fps"
    if version.runtime is not None:
        yield f"runtime {clock(version.runtime)}{found}"
    if version.runtime_of is not None:
        yield f"runtime of {version.runtime_of}{found}"
    if version.meet is not None:
        meet = version.meet
        yield f"meets {len(meet.cues)} cues of a score between {meet.slowest} and {meet.fastest}"
    yield from _few([f"reel {name}: {pace}" for name, pace in version.reels.items()], "reels")
    rules = [
        f"{'shots' if rule.is_run else 'shot'} {rule}: {_rule(rule.pace, rule.limits)}"
        for rule in version.shots
    ]
    yield from _few(rules, "rules for shots")
    if version.titles is not None:
        yield f"titles: {_rule(version.titles.speed, version.titles.limits)}"
    if version.assembly is not None:
        yield from _assembled(version.assembly)


def _few(told: list[str], noun: str) -> Iterator[str]:
    yield from told[:_MOST]
    if len(told) > _MOST:
        yield f"and {len(told) - _MOST:,} more {noun}"


def _rule(pace: SpokenPace | None, limits: Limits) -> str:
    told = [] if pace is None else [str(pace)]
    for words, seconds in (
        ("at least", limits.at_least),
        ("at most", limits.at_most),
        ("for", limits.exactly),
    ):
        if seconds is not None:
            told.append(f"{words} {_plain(seconds, 3)} s")
    return ", ".join(told) or "as around"


def _assembled(assembly: Assembly) -> Iterator[str]:
    if assembly.order is not None:
        yield "plays in an order of its own"
    for count, words in (
        (len(assembly.omit), "left out"),
        (len(assembly.insert), "put in"),
        (len(assembly.replace), "replaced by pictures of their own"),
    ):
        if count:
            yield f"{count} {words}"


def shots_of(edition: Edition, name: str) -> Iterator[Shot]:
    """Yield what a version plays, cut by cut."""
    timeline = edition.timelines[name]
    making = next(one for one in edition.makings if one.deliverable.version == name)
    titles = {(shot.reel, shot.name): shot.title for shot in edition.speed_map.shots}
    for unit in timeline.units:
        reel = timeline.reels[unit.reel].name
        title = titles.get((reel, unit.shot)) if unit.shot is not None else unit.name
        ends = [making.told(reel, one) for one in (unit.first, unit.last) if one is not None]
        stretches = timeline.stretches[unit.stretches[0] : unit.stretches[1]]
        yield Shot(
            reel=reel,
            shot=unit.shot or "",
            title=title or "",
            kind=_kind(unit),
            frames=f"{ends[0]:,} to {ends[1]:,}" if ends else "",
            start=clock(unit.start),
            lasts=decimal(unit.stop - unit.start, 3),
            speed=", ".join(dict.fromkeys(_speed(stretch) for stretch in stretches)),
        )


def _kind(unit: Unit) -> str:
    if unit.first is None:
        return f"put in, {unit.kind}"
    if unit.shot is None and unit.kind is ShotKind.ACTION:
        return "in no shot"
    return str(unit.kind)


def _speed(stretch: Stretch) -> str:
    pace = stretch.pace
    if stretch.inset:
        return stretch.plate.address if stretch.plate else str(stretch.shows)
    if stretch.again:
        return "back and forth"
    if isinstance(pace, Eased):
        return f"{pace.ramp.first} to {pace.ramp.last} fps"
    if stretch.shows is not Shows.FILM:
        return f"missing, {stretch.shows}"
    if stretch.hold:
        return f"one frame held {_plain(pace.duration, 3)} s"
    return f"{_plain(1 / pace.duration, 3)} fps"


def _plain(x: Fraction, places: int) -> str:
    """Return a number with at most so many decimals."""
    scaled = half_up(x * 10**places)
    return decimal(x, places).rstrip("0").rstrip(".") if scaled % 10**places else str(half_up(x))
