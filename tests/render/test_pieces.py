"""Pieces are cut by the plan: each output frame is in one, and no picture is made in two."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, cast

import pytest
from filmstrips import strip
from hypothesis import given, reject, settings
from hypothesis import strategies as st
from randomfilms import arrangements, films, holed

from retime.errors import NotationError
from retime.film.speed import Rate
from retime.light.raster import Rectangle
from retime.plan.assembly import assemble
from retime.plan.carry import FIELDS, FRAMES
from retime.plan.conform import Conform
from retime.plan.plan import plan_blend, plan_repeats
from retime.render.pieces import cut, cuts_of, is_long
from retime.render.reading import Run, readings_of
from retime.render.recipe import Recipe, Source, Wanted, frames_of
from retime.render.sources import Sources
from retime.speedmap.model import Phase

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from retime.plan.plan import Plan
    from retime.render.order import Order
    from retime.render.pieces import Cut
    from retime.render.recipe import Place

SCANS = {"0": 0, "1": 1, "print": 2}
ALL = frozenset(SCANS.values())
AREA = Rectangle(left=0, top=0, width=16, height=16)


@dataclass(frozen=True, kw_only=True)
class Profile:
    """So much of a profile as the cutting asks for."""

    disc: object = None
    options: dict[str, str] = field(default_factory=dict)

    def encoder_options(self) -> dict[str, str]:
        """Return what an encoder is told."""
        return self.options


@dataclass(frozen=True, kw_only=True)
class Planned:
    """So much of an order as the cutting asks for."""

    name: str
    plan: Plan
    sources: Sources
    stands_alone: bool = True
    flags: object = None
    profile: Profile = field(default_factory=Profile)

    @property
    def outputs(self) -> range:
        """Every output frame."""
        return range(self.plan.total)

    @property
    def loops(self) -> Sequence[tuple[Place, Place]]:
        """Spans that are kept together."""
        return self.sources.places.loops

    def pictures(self) -> Iterable[Wanted]:
        """Return what every output frame is made of."""
        return self.sources.wanted(self.plan)


@dataclass(frozen=True, kw_only=True)
class Call:
    """What a pass makes, and the runs of its reading."""

    orders: list[Order]
    runs: dict[int, Run]

    def cut(self, length: int) -> Cut:
        """Return its pieces."""
        begins = cuts_of(self.orders, self.runs, length, entered=ALL)
        return cut(self.orders, self.runs, begins)


@st.composite
def calls(draw: st.DrawFn) -> Call:
    """Draw some versions of one film in one reading, as repeats, in fields, or blended."""
    film = draw(films(reels=2, shots=3, longest=40))
    holes = draw(holed(film))
    each = draw(st.lists(arrangements(film), min_size=1, max_size=3))
    timelines = [assemble(items, holes) for items in each]
    read = readings_of(timelines, SCANS)
    kinds = draw(st.lists(st.sampled_from([_repeats, _fields, _blended]), min_size=3, max_size=3))
    try:
        plans = [kind(one) for kind, one in zip(kinds, timelines, strict=False)]
    except NotationError:  # a film of which some shot cannot be seen at all
        reject()
    orders = [
        Planned(
            name=f"order {number}",
            plan=plan,
            sources=Sources(places=places, areas={}, whole=AREA),
        )
        for number, (plan, (reading, places)) in enumerate(zip(plans, read, strict=True))
        if reading == read[0][0]
    ]
    return Call(orders=cast("list[Order]", orders), runs=dict(enumerate(read[0][0].runs)))


def _repeats(timeline: object) -> Plan:
    return plan_repeats(timeline, _at(48), Phase.CONTINUOUS, FRAMES)  # type: ignore[arg-type]


def _fields(timeline: object) -> Plan:
    return plan_repeats(timeline, _at(50), Phase.CONTINUOUS, FIELDS)  # type: ignore[arg-type]


def _blended(timeline: object) -> Plan:
    window = Fraction(1)
    return plan_blend(timeline, _at(48), Phase.CONTINUOUS, window, FRAMES)  # type: ignore[arg-type]


def _at(rate: int) -> Conform:
    return Conform.of(Rate(Fraction(rate)), None)


def made_of(order: Order) -> list[Recipe]:
    """Return what each output frame is made of."""
    return [recipe for times, recipe in order.pictures() for _ in range(times)]


lengths = st.integers(1, 30)


@settings(max_examples=60, deadline=None)
@given(calls(), lengths)
def test_every_output_frame_of_every_order_is_in_exactly_one_piece(call: Call, length: int) -> None:
    pieces = call.cut(length).pieces
    for order in call.orders:
        spans = [one.outputs[order.name] for one in pieces if order.name in one.outputs]
        outputs = [output for first, stop in spans for output in range(first, stop)]
        assert list(order.outputs) == outputs
        assert all(first < stop for first, stop in spans)


@settings(max_examples=60, deadline=None)
@given(calls(), lengths)
def test_no_picture_of_film_frames_is_made_in_two_pieces(call: Call, length: int) -> None:
    pieces = call.cut(length).pieces
    homes: dict[Recipe, int] = {}
    for order in call.orders:
        made = made_of(order)
        for piece in pieces:
            first, stop = piece.outputs.get(order.name, (0, 0))
            for recipe in made[first:stop]:
                if frames_of(recipe):
                    assert homes.setdefault(recipe, piece.number) == piece.number


@settings(max_examples=60, deadline=None)
@given(calls(), lengths)
def test_a_piece_reads_all_that_its_pictures_are_made_of(call: Call, length: int) -> None:
    for piece in call.cut(length).pieces:
        for order in call.orders:
            first, stop = piece.outputs.get(order.name, (0, 0))
            for recipe in made_of(order)[first:stop]:
                for number, frame in frames_of(recipe):
                    run = piece.runs[number]
                    assert run.scan == call.runs[number].scan
                    assert run.first <= frame <= run.last


@settings(max_examples=60, deadline=None)
@given(calls(), lengths)
def test_all_pieces_together_read_every_frame_that_the_pass_reads(call: Call, length: int) -> None:
    """Frames that nobody shows are read too, once: a render notices damage wherever it is."""
    read = {
        (number, frame)
        for piece in call.cut(length).pieces
        for number, run in piece.runs.items()
        for frame in range(run.first, run.last + 1)
    }
    shown = {place for order in call.orders for one in made_of(order) for place in frames_of(one)}
    everything = {
        (number, frame)
        for number, run in call.runs.items()
        for frame in range(run.first, run.last + 1)
    }

    assert shown <= read <= everything


@settings(max_examples=60, deadline=None)
@given(calls(), lengths)
def test_no_piece_begins_inside_a_loop_or_inside_a_scan_that_cannot_be_entered(
    call: Call, length: int
) -> None:
    begins = cuts_of(call.orders, call.runs, length, entered={0})
    assert sorted(set(begins)) == begins
    for place in begins:
        number, frame = place
        assert call.runs[number].scan == 0 or frame == call.runs[number].first
        for order in call.orders:
            assert not any(low < place <= high for low, high in order.loops)


@settings(max_examples=30, deadline=None)
@given(calls(), lengths)
def test_a_plan_that_differs_has_another_digest(call: Call, length: int) -> None:
    """The digest says what is shown, so it is as different as what is shown; length has no part."""
    plans = call.cut(length).plans
    for one in call.orders:
        for other in call.orders:
            alike = list(one.pictures()) == list(other.pictures())
            assert alike is (plans[one.name] == plans[other.name])
    assert plans == call.cut(length + 1).plans


def a_film(frames: int, shots: Sequence[int], **told: object) -> Call:
    """Return one order that shows ``frames`` frames once each, in shots that begin as said."""
    counts = [stop - first for first, stop in pairwise([0, *shots, frames])]
    timeline = assemble(strip(*((count, 48) for count in counts)), {"1": []})
    ((reading, places),) = readings_of([timeline], {"1": 0})
    sources = Sources(places=places, areas={}, whole=AREA)
    order = Planned(name="o", plan=_repeats(timeline), sources=sources, **told)  # type: ignore[arg-type]
    return Call(orders=[cast("Order", order)], runs=dict(enumerate(reading.runs)))


@pytest.mark.parametrize(
    ("shots", "begin"),
    [((), 1000), ((760,), 760), ((1240,), 1240), ((740, 1260), 1000), ((900, 1050), 1050)],
)
def test_a_piece_begins_at_the_nearest_cut_within_a_quarter_of_its_length(
    shots: Sequence[int], begin: int
) -> None:
    call = a_film(8000, shots)
    first, *_ = cuts_of(call.orders, call.runs, 1000, entered=ALL)

    assert (0, begin) == first


def test_the_last_pieces_are_ever_shorter() -> None:
    """Of two who work side by side, one waits at the end for half of a last piece on the mean."""
    call = a_film(9000, ())
    begins = [frame for _, frame in cuts_of(call.orders, call.runs, 1000, entered=ALL)]
    lengths = [stop - begin for begin, stop in pairwise([0, *begins, 9000])]

    assert lengths[:-1] == sorted(lengths[:-1], reverse=True)
    assert [1000] * 6 == lengths[:6]
    assert all(125 <= one for one in lengths)
    assert all(4 * one <= max(500, sum(lengths[at:])) for at, one in enumerate(lengths[:-1]))
    assert lengths[-1] <= 187  # half as long again as the shortest, so that none is shorter


def test_a_film_up_to_half_as_long_again_as_a_piece_is_not_cut() -> None:
    assert not is_long(1500, 1000)
    assert is_long(1501, 1000)
    call = a_film(1500, ())
    assert [] == cuts_of(call.orders, call.runs, 1000, entered=ALL)


@pytest.mark.parametrize(
    "told",
    [
        {"profile": Profile(disc="a disc")},
        {"flags": "repeat flags"},
        {"stands_alone": False, "profile": Profile(options={"maxrate": "8000000"})},
        {"stands_alone": False, "profile": Profile(options={"x264-params": "vbv-bufsize=1000"})},
    ],
)
def test_what_a_stream_s_rate_control_or_flags_run_on_through_is_made_whole(
    told: dict[str, object],
) -> None:
    (piece,) = a_film(90, (), **told).cut(30).pieces

    assert {"o": (0, 90)} == piece.outputs
    assert 90 == piece.frames


def test_black_before_the_first_film_frame_is_made_with_it() -> None:
    black, late = Recipe(((Source(None, Fraction(1)),),)), (0, 50)
    shown = Recipe(((Source(late, Fraction(1)),),))

    class Led(Planned):
        def pictures(self) -> Iterable[Wanted]:
            return [Wanted(7, black), Wanted(3, shown), Wanted(2, black)]

    call = a_film(90, ())
    plain = cast("Planned", call.orders[0])
    order = cast("Order", Led(name="led", plan=plain.plan, sources=plain.sources))
    found = cut([order], call.runs, [(0, 30), (0, 60)])

    assert [(0, 12)] == [piece.outputs["led"] for piece in found.pieces]
