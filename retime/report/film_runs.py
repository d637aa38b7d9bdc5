"""A version's film frames in runs, with the pace at which each has its turn; holds have none."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import TYPE_CHECKING, Any, TypeAlias

from retime.plan.timeline import Eased, Even
from retime.report.numbers import decimal, exact
from retime.speedmap.lasting import Lasting, lastings

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from retime.edition.edition import Edition
    from retime.plan.timeline import Stretch, Timeline, Unit

__all__ = [
    "LoneFrames",
    "ends_of",
    "film_runs",
    "fps_said",
    "joined",
    "lone_frames",
    "run_said",
    "run_told",
    "seconds_of",
    "together",
    "unit_runs",
]

_READABLE = 100  # a speed of a smaller denominator is told as a fraction


LoneFrames: TypeAlias = Mapping[tuple[str, int], Fraction]
"""By reel and frame how long frames last, held or not, that are all of their shots."""


def lone_frames(edition: Edition, version: str) -> LoneFrames:
    """Return how long the frames of a version last that are all of their shots, by its rules."""
    speed_map, lone = edition.speed_map, {}
    lasts = {scan.reel.name: scan.last for scan in edition.scans}
    for run in lastings(speed_map, speed_map.versions[version], lasts):
        duration = edition.solved.get(version) if run.duration is None else run.duration
        if run.first == run.last and duration is not None:
            lone[run.reel, run.first] = duration
    return lone


def film_runs(timeline: Timeline, lone: LoneFrames, apart: Collection[int] = ()) -> list[Lasting]:
    """Return the film frames that play, in playing order and as often as they do.

    Units whose numbers are in ``apart`` are left out: frames that were put in are shown beside the
    film, and the speed of a shot is not theirs.
    """
    units = (unit for number, unit in enumerate(timeline.units) if number not in apart)
    return list(joined(run for unit in units for run in unit_runs(timeline, unit, lone)))


def unit_runs(timeline: Timeline, unit: Unit, lone: LoneFrames) -> Iterator[Lasting]:
    """Yield the film frames of one unit, in playing order.

    A frame that is held is told at the pace about it; where it is its unit's only one, as ``lone``
    says.
    """
    inside = timeline.stretches[unit.stretches[0] : unit.stretches[1]]
    reel = timeline.reels[unit.reel].name
    for number, stretch in enumerate(inside):
        if not stretch.fresh:
            continue
        duration, step = _terms(stretch)
        if stretch.hold:
            natural = lone.get((reel, stretch.first), duration)
            duration = _about(inside, number, natural)
        last = stretch.first + stretch.count - 1
        yield Lasting(reel=reel, first=stretch.first, last=last, duration=duration, step=step)


def _terms(stretch: Stretch) -> tuple[Fraction, Fraction]:
    """Return how long a stretch's first frame lasts, and how much more each later one."""
    pace = stretch.pace
    first = pace.elapsed(1)
    if isinstance(pace, Even) or stretch.count == 1:
        return first, Fraction(0)
    return first, pace.elapsed(2) - 2 * first


def _about(inside: Sequence[Stretch], number: int, natural: Fraction) -> Fraction:
    """Return the pace before a held frame, else after it, else its ``natural`` one."""
    if number and inside[number - 1].fresh:
        before = inside[number - 1]
        return before.pace.elapsed(before.count + 1) - before.pace.elapsed(before.count)
    if number + 1 < len(inside) and inside[number + 1].fresh:
        after = inside[number + 1].pace
        if isinstance(after, Eased):
            two = Eased(ramp=after.ramp, index=after.index - 1, span=after.span, scale=after.scale)
            return two.elapsed(1)
        return after.duration
    return natural


def joined(runs: Iterable[Lasting]) -> Iterator[Lasting]:
    """Yield runs as long as they go on at one speed, or in one ramp."""
    here: Lasting | None = None
    for run in runs:
        longer = here and together(here, run)
        if here is not None and longer is None:
            yield here
        here = longer or run
    if here is not None:
        yield here


def together(one: Lasting, next_: Lasting) -> Lasting | None:
    """Return two runs as one, None where the second does not go on as the first does."""
    if one.reel != next_.reel or next_.first != one.last + 1:
        return None
    if one.duration is None or next_.duration is None or one.step is None or next_.step is None:
        return None
    count = one.last - one.first + 1
    step = next_.duration - one.duration if count == 1 else one.step
    if one.duration + count * step != next_.duration:
        return None
    if next_.first != next_.last and next_.step != step:
        return None
    return Lasting(
        reel=one.reel, first=one.first, last=next_.last, duration=one.duration, step=step
    )


def ends_of(run: Lasting) -> tuple[Fraction, Fraction]:
    """Return the speeds of a run's first and last frame, in frames a second."""
    if run.duration is None or run.step is None:
        raise ValueError("the speed of this run is not solved yet")
    return 1 / run.duration, 1 / (run.duration + run.step * (run.last - run.first))


def seconds_of(run: Lasting) -> Fraction:
    """Return how long a run lasts."""
    if run.duration is None or run.step is None:
        raise ValueError("the speed of this run is not solved yet")
    count = run.last - run.first + 1
    return run.duration * count + run.step * Fraction(count * (count - 1), 2)


def run_said(run: Lasting | None) -> str:
    """Return a run's speed for a person, empty where nothing plays."""
    if run is None:
        return ""
    first, last = map(fps_said, ends_of(run))
    return first if first == last else f"{first} -> {last}"


def fps_said(fps: Fraction) -> str:
    """Return a speed as a fraction if that can be read, else to three decimals."""
    return str(fps) if fps.denominator < _READABLE else decimal(fps, 3)


def run_told(run: Lasting | None) -> Any:
    """Return a run's speed for programs: a text, two of a ramp, None where nothing plays."""
    if run is None:
        return None
    first, last = ends_of(run)
    return exact(first) if first == last else {"from": exact(first), "to": exact(last)}
