"""Random films for tests of the plan: reels of shots, titles, gaps and ramps."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from retime.film.speed import Ramp, Rate, Speed
from retime.plan.conform import Conform
from retime.speedmap.decisions import Free, RampPart, Segment, Steady
from retime.speedmap.model import Shot, ShotKind

__all__ = ["RATES", "conforms", "films"]

RATES = [
    Fraction(24000, 1001),
    Fraction(24),
    Fraction(25),
    Fraction(30000, 1001),
    Fraction(30),
    Fraction(48),
    Fraction(50),
    Fraction(60000, 1001),
    Fraction(60),
    Fraction(18),
    Fraction(200, 11),
]
NICE = [Fraction(fps) for fps in ("16", "18", "20", "22", "24", "25", "30", "12", "75")]
NICE += [Fraction(64, 3), Fraction(200, 11), Fraction(50, 3)]

speeds = st.one_of(
    st.sampled_from(NICE),
    st.integers(8000, 40000).map(lambda mils: Fraction(mils, 1000)),
    st.fractions(min_value=5, max_value=120, max_denominator=50),
).map(Speed)
times = st.fractions(min_value=Fraction(1, 60), max_value=3, max_denominator=60)
conforms = st.builds(
    lambda rate, at: Conform.of(Rate(rate), at and Rate(at)),
    st.sampled_from(RATES),
    st.none() | st.sampled_from(RATES),
)


@st.composite
def films(draw: st.DrawFn, *, free: bool = False) -> list[Segment]:
    """Draw one to three reels of shots, titles, gaps and ramps, each with speeds of its own."""
    segments: list[Segment] = []
    for reel in range(draw(st.integers(1, 3))):
        at = draw(st.integers(0, 40))
        for number in range(draw(st.integers(1, 6))):
            count = draw(st.one_of(st.integers(1, 4), st.integers(1, 90)))
            title = draw(st.booleans())
            shot = Shot(reel=str(reel), first=at, last=at + count - 1, name=str(number))
            limit = draw(st.sampled_from([None, None, "at_least", "at_most", "exactly"]))
            segments.append(
                Segment(
                    reel=str(reel),
                    first=at,
                    last=at + count - 1,
                    shot=draw(st.sampled_from([shot, None])),
                    kind=ShotKind.TITLE if title else ShotKind.ACTION,
                    pace=draw(paces(count, free=free)),
                    **({limit: draw(times)} if limit else {}),
                )
            )
            at += count
    return segments


@st.composite
def paces(draw: st.DrawFn, count: int, *, free: bool) -> Steady | RampPart | Free:
    """Draw one speed, part of a ramp, or a speed left to be solved."""
    kinds = ["steady", "steady", "ramp", *(["free"] * 3 if free else [])]
    match draw(st.sampled_from(kinds)):
        case "steady":
            return Steady(speed=draw(speeds))
        case "free":
            return Free()
        case _:
            before, after = draw(st.integers(0, 9)), draw(st.integers(0, 9))
            ramp = Ramp(draw(speeds), draw(speeds))
            return RampPart(ramp=ramp, index=before, count=before + count + after)
