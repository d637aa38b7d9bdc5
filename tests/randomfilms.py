"""Random films for tests of the plan: reels of shots, titles, gaps and ramps."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from hypothesis import strategies as st
from msgspec.structs import replace

from retime.film.speed import Ramp, Rate, Speed
from retime.plan.assembly import Hole
from retime.plan.conform import Conform
from retime.plan.plan import Lead
from retime.plan.timeline import Shows
from retime.speedmap.arrangement import Inserted
from retime.speedmap.assembly import Plate
from retime.speedmap.decisions import Free, RampPart, Segment, Steady
from retime.speedmap.model import Shot, ShotKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.speedmap.arrangement import Item

__all__ = ["RATES", "Assembled", "arrangements", "assemblies", "conforms", "films", "leads"]

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
def films(
    draw: st.DrawFn, *, free: bool = False, reels: int = 3, shots: int = 6, longest: int = 90
) -> list[Segment]:
    """Draw a few reels of shots, titles, gaps and ramps, each with speeds of its own."""
    segments: list[Segment] = []
    for reel in range(draw(st.integers(1, reels))):
        at = draw(st.integers(0, 40))
        for number in range(draw(st.integers(1, shots))):
            count = draw(st.one_of(st.integers(1, 4), st.integers(1, longest)))
            title = draw(st.booleans())
            shot = Shot(reel=str(reel), first=at, last=at + count - 1, name=str(number))
            limit = draw(st.sampled_from([None, None, "at_least", "at_most", "exactly"]))
            segment = Segment(
                reel=str(reel),
                first=at,
                last=at + count - 1,
                shot=draw(st.sampled_from([shot, None])),
                kind=ShotKind.TITLE if title else ShotKind.ACTION,
                pace=draw(paces(count, free=free)),
            )
            segments.append(replace(segment, **{limit: draw(times)}) if limit else segment)
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


class Assembled(NamedTuple):
    """What plays, in order, and the holes of every reel's scan."""

    items: list[Item]
    holes: dict[str, list[Hole]]


plates = st.sampled_from([Plate(address="bridge.tif"), Plate(address="title.png")])
plates_or_black = st.none() | plates
gaps = st.lists(st.tuples(st.integers(1, 20), st.integers(1, 9)), max_size=3)
excerpts = st.tuples(st.integers(0, 30), st.integers(1, 12))
names = st.sampled_from([None, "what is lost"])


@st.composite
def assemblies(draw: st.DrawFn) -> Assembled:
    """Draw a film, its holes, and what an assembly makes of it."""
    film = draw(films(reels=2, shots=3, longest=30))
    return Assembled(draw(arrangements(film)), draw(holed(film)))


@st.composite
def arrangements(draw: st.DrawFn, film: Sequence[Segment]) -> list[Item]:
    """Draw what plays: the film's shots in any order and number, some looped, plates, insets."""
    scanned = range(len(film))
    order = draw(
        st.one_of(st.just(scanned), st.lists(st.sampled_from(scanned), min_size=1, max_size=8))
    )
    items: list[Item] = []
    for number in order:
        items.append(draw(replaced(film[number])))
        if draw(st.sampled_from([False, False, False, True])):
            items.append(draw(insets(items[-1].reel)))
    return items


@st.composite
def replaced(draw: st.DrawFn, segment: Segment) -> Segment:
    """Draw a shot as it is, with a loop that plays for a while, or with a plate in its place."""
    match draw(st.sampled_from(["film", "film", "loop", "plate"])):
        case "loop":
            return replace(segment, loop=draw(st.integers(1, 12)), exactly=draw(times))
        case "plate":
            return replace(segment, plate=draw(plates))
        case _:
            return segment


@st.composite
def insets(draw: st.DrawFn, reel: str) -> Item:
    """Draw a still, black, or frames of another scan or of the same."""
    name, kind = draw(names), draw(st.sampled_from(ShotKind))
    if draw(st.booleans()):
        plate = draw(plates_or_black)
        return Inserted(reel=reel, kind=kind, lasts=draw(times), plate=plate, name=name)
    first, count = draw(excerpts)
    return Segment(
        reel=draw(st.sampled_from(["print", "print", reel])),
        first=first,
        last=first + count - 1,
        shot=None,
        kind=kind,
        pace=Steady(speed=draw(speeds)),
        name=name,
    )


@st.composite
def holed(draw: st.DrawFn, film: Sequence[Segment]) -> dict[str, list[Hole]]:
    """Draw holes for some reels, apart from one another, which neither open nor close a scan."""
    holes: dict[str, list[Hole]] = {}
    for reel in sorted({segment.reel for segment in film} | {"print"}):
        frames = max((one.last for one in film if one.reel == reel), default=42) + 1
        shows = draw(st.sampled_from([Shows.STILL, Shows.BLACK]))
        stop, found = 0, []
        for gap, count in draw(gaps):
            first, stop = stop + gap, stop + gap + count
            found.append(Hole(first=first, count=count, shows=shows))
        holes[reel] = [hole for hole in found if hole.stop < frames]
    return holes


@st.composite
def leads(draw: st.DrawFn) -> tuple[Lead, ...]:
    """Draw what stands before or after the film: black, stills, and movies that play on."""
    return tuple(
        Lead(frames=frames, plate=plate, moving=moving and plate is not None)
        for frames, plate, moving in draw(lead_lists)
    )


lead_lists = st.lists(st.tuples(st.integers(1, 5), plates_or_black, st.booleans()), max_size=2)
