"""The map of time carries every film frame of one clock to the same frame of another, exactly."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from filmstrips import planned, strip
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from naive import rows, starts_of
from randomfilms import films, paces

from retime.film.speed import Rate
from retime.plan.assembly import assemble
from retime.plan.conform import Conform
from retime.plan.plan import Lead
from retime.plan.timemap import Clock, Leg, carried, clock_of, true_clock

if TYPE_CHECKING:
    from retime.speedmap.decisions import Segment

TRUE = true_clock()


@st.composite
def _pairs(draw: st.DrawFn) -> tuple[list[Segment], list[Segment]]:
    """Draw a film at two versions' paces, limits and all."""
    film = draw(films())
    other = [replace(one, pace=draw(paces(one.count, free=False))) for one in film]
    return film, other


def _even(segment: Segment) -> bool:
    return segment.at_least is None and segment.at_most is None and segment.exactly is None


@settings(max_examples=60, deadline=None)
@given(_pairs())
def test_every_frame_begins_where_the_other_version_has_it(
    pair: tuple[list[Segment], list[Segment]],
) -> None:
    """Held shots are carried as a whole; all others frame by frame, as slow loops have them."""
    one, other = pair
    target, source = assemble(one, {}), assemble(other, {})
    found = carried(target, TRUE, source, TRUE, target.duration)
    theirs, ours = rows(other), rows(one)
    clock = [Fraction(0), Fraction(0)]
    for segment, mine, yours in zip(one, ours, theirs, strict=True):
        begins = [clock[0] + at for at in starts_of(mine)]
        heard = [clock[1] + at for at in starts_of(yours)]
        if _even(segment) or segment.shot is None:
            shown = [(a, b) for a, b in zip(begins[:-1], heard[:-1], strict=True)]
        else:
            shown = [(begins[0], heard[0])]
        for begin, source_begin in shown:
            if _even(segment):
                assert source_begin == found.source_at(begin)
                assert begin == found.at(source_begin)
        assert heard[0] == found.source_at(begins[0])
        clock = [begins[-1], heard[-1]]


@settings(max_examples=40, deadline=None)
@given(_pairs())
def test_legs_rise_on_both_clocks_and_leave_nothing_out(
    pair: tuple[list[Segment], list[Segment]],
) -> None:
    one, other = pair
    target, source = assemble(one, {}), assemble(other, {})
    legs = carried(target, TRUE, source, TRUE, target.duration).legs

    assert (Fraction(0), Fraction(0)) == (legs[0].begin, legs[0].source_begin)
    assert (target.duration, source.duration) == (legs[-1].end, legs[-1].source_end)
    for before, after in pairwise(legs):
        assert (before.end, before.source_end) == (after.begin, after.source_begin)
        assert before.ratio != after.ratio


@settings(max_examples=25, deadline=None)
@given(films())
def test_a_version_follows_itself_in_one_leg_of_ratio_one(film: list[Segment]) -> None:
    timeline = assemble(film, {})
    (leg,) = carried(timeline, TRUE, timeline, TRUE, timeline.duration).legs

    assert Leg(Fraction(0), timeline.duration, Fraction(0), timeline.duration) == leg


def test_a_deliverable_s_clock_has_its_head_and_its_run() -> None:
    """24 sold as 25: a second of true time is 24/25 of one, after a head of 50 frames at 25."""
    plan = replace(planned(strip((48, 24)), 25, at=24), head=(Lead(frames=50),))

    assert Clock(start=Fraction(2), run=Fraction(24, 25)) == clock_of(plan)
    found = carried(plan.timeline, clock_of(plan), plan.timeline, TRUE, plan.total_runtime)
    assert Fraction(24, 25) + 2 == found.at(Fraction(1))
    assert found.source_at(Fraction(1)) is None


def test_the_run_of_1000_1001_is_in_the_clock() -> None:
    rate = Rate(Fraction(24000, 1001))
    plan = planned(strip((20, 20)), rate.fps, at=24)

    assert Conform.of(rate, None).run_change == 1 / clock_of(plan).run
    assert Fraction(1001, 1000) == clock_of(plan).at(Fraction(1))


def test_film_that_the_source_lacks_is_in_no_leg() -> None:
    whole, part = strip((10, 20), (10, 20), (10, 20)), strip((10, 20), (10, 20), (10, 20))
    target = assemble(whole, {})
    source = assemble([part[0], part[2]], {})
    found = carried(target, TRUE, source, TRUE, target.duration)

    assert [(Fraction(0), Fraction(1, 2)), (Fraction(1), Fraction(3, 2))] == [
        (leg.begin, leg.end) for leg in found.legs
    ]
    assert found.source_at(Fraction(3, 4)) is None
    assert Fraction(1, 2) == found.source_at(Fraction(1))


def test_a_held_title_is_carried_as_a_whole() -> None:
    """10 frames stand 3 s here and 2 s there: the middle of the one is that of the other."""
    here = strip((10, 20), (10, 20), limits={1: {"at_least": Fraction(3)}})
    there = strip((10, 20), (10, 20), limits={1: {"at_least": Fraction(2)}})
    target, source = assemble(here, {}), assemble(there, {})
    found = carried(target, TRUE, source, TRUE, target.duration)

    assert Fraction(1, 2) + 1 == found.source_at(Fraction(1, 2) + Fraction(3, 2))
