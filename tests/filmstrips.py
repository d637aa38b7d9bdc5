"""Short films for tests of the plan: segments put together by hand."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.film.speed import Rate, Speed
from retime.plan.assembly import assemble
from retime.plan.carry import FRAMES, Carry
from retime.plan.conform import Conform
from retime.plan.drift import drift_of
from retime.plan.plan import Plan, plan_repeats
from retime.speedmap.decisions import Pace, Segment, Steady
from retime.speedmap.model import Phase, Shot, ShotKind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from retime.plan.assembly import Hole
    from retime.plan.drift import Drift

__all__ = ["drifted", "planned", "runs", "shown", "shown_fields", "shown_units", "strip", "uniform"]


def strip(
    *shots: tuple[int, Fraction | int | Pace], limits: Mapping[int, Mapping[str, Fraction]] = {}
) -> list[Segment]:
    """Return one reel of shots, each so many frames at a speed; ``limits`` by shot number."""
    segments, first = [], 0
    for number, (count, pace) in enumerate(shots):
        last = first + count - 1
        if isinstance(pace, Fraction | int):
            pace = Steady(speed=Speed(Fraction(pace)))  # noqa: PLW2901 - a number is a speed
        segment = Segment(
            reel="1",
            first=first,
            last=last,
            shot=Shot(reel="1", first=first, last=last, name=str(number)),
            kind=ShotKind.ACTION,
            pace=pace,
        )
        segments.append(replace(segment, **limits.get(number, {})))
        first = last + 1
    return segments


def planned(  # noqa: PLR0913 - as many as a plan has sides
    film: Sequence[Segment],
    rate: Fraction | int,
    *,
    at: Fraction | int | None = None,
    phase: Phase = Phase.CONTINUOUS,
    holes: Sequence[Hole] = (),
    carry: Carry = FRAMES,
) -> Plan:
    """Return the plan of a film at a rate."""
    conform = Conform.of(Rate(Fraction(rate)), None if at is None else Rate(Fraction(at)))
    return plan_repeats(assemble(film, {"1": holes}), conform, phase, carry)


def uniform(count: int, speed: Fraction | int, rate: Fraction | int, **how: object) -> Plan:
    """Return the plan of one shot at one speed."""
    return planned(strip((count, speed)), rate, **how)  # type: ignore[arg-type]


def drifted(plan: Plan) -> Drift:
    """Return the drift of a plan that is no blend."""
    drift = drift_of(plan)
    assert drift is not None
    return drift


def shown(plan: Plan) -> list[int | None]:
    """Return which film frame each output frame shows, None for black."""
    return [one.frame for one in plan.showings() for _ in range(one.times)]


def shown_units(plan: Plan) -> list[int]:
    """Return which shot each output frame belongs to."""
    return [one.unit for one in plan.showings() for _ in range(one.times)]


def shown_fields(plan: Plan) -> list[tuple[int | None, int | None]]:
    """Return which film frame each of an output frame's two fields shows, in the order of time."""
    return [
        (fields[0][0].frame, fields[-1][0].frame)
        for times, fields in plan.pictures()
        for _ in range(times)
    ]


def runs(plan: Plan) -> list[int]:
    """Return how often each film frame shown is shown, in order."""
    return [one.times for one in plan.showings()]
