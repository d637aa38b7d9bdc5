"""Where no short cycle is exact, the cadence told is one that the listed frames do show.

Breaks are counted in the frames themselves: where a cycle holds, the frame shown one cycle of
output frames later is one cycle of film frames later.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate, chain, pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from filmstrips import runs, shown, shown_fields, uniform
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from retime.plan.cadence import LONGEST_CYCLE, Cadence, cadence_at, same_cadence
from retime.plan.carry import FIELDS
from retime.report.stretches import cadence_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    Frames = NDArray[np.int64]

NTSC_FILM = Fraction(24000, 1001)
NTSC_FIELDS = Fraction(60000, 1001)
A_PART_OF_THE_BEAT = 20  # output frames; what comes oftener comes clearly more than once a second


def of(speed: Fraction | int, rate: Fraction | int) -> Cadence:
    """Return the cadence of a stretch that begins with the film: half an output frame in."""
    ratio = Fraction(speed) / Fraction(rate)
    told = cadence_at(ratio.numerator, ratio.denominator, ratio.numerator // 2)
    assert told is not None
    return told


def listed(frames: Iterable[int | None]) -> Frames:
    return np.array([-1 if frame is None else frame for frame in frames])


def broken(frames: Frames, film: int, outputs: int, period: int) -> list[int]:
    """Return at which of ``period`` output frames a cycle does not bring its frames on."""
    on = frames[outputs : outputs + period] - frames[:period]
    return np.flatnonzero(on != film).tolist()


# By hand: in q output frames q x speed/rate film frames pass, and a cycle of p is off by what these
# are more or less than p; it slips whenever that has added up to one part in q of a film frame.
BY_HAND = [
    # 3 x 16.735363/25 = 2.00824356
    (Fraction("16.735363"), Fraction(25), "12", 1 / Fraction("0.00824356")),
    # 6 x 20 x 1001/24000 = 5.005
    (Fraction(20), NTSC_FILM, "11112", Fraction(200)),
    # 4 x 18 x 1001/24000 = 3.003, and 3 x 16 x 1001/24000 = 2.002
    (Fraction(18), NTSC_FILM, "112", Fraction(1000, 3)),
    (Fraction(16), NTSC_FILM, "12", Fraction(500)),
    # 12 x 22 x 1001/24000 = 11.011; a 1 would slip every 12.1, and 1/12.1 is no rare thing
    (Fraction(22), NTSC_FILM, "1" * 10 + "2", Fraction(1000, 11)),
    # 1 x 24 x 1001/24000 = 1.001, and 25 x 1001/24000 = 1.0427083
    (Fraction(24), NTSC_FILM, "1", Fraction(1000)),
    (Fraction(25), NTSC_FILM, "1", 24000 / Fraction(1025)),
    # 24.001: 24 in 25 plays 40 times in 1,000 frames, and 1 in 1 would play 25 times in 25
    (Fraction("24.001"), Fraction(25), "1" * 23 + "2", Fraction(1000)),
    # 24.01/25 = 0.9604: 1 in 1 plays 25 times in 25 frames, and 24 in 25 would play 4 times in 100
    (Fraction("24.01"), Fraction(25), "1", 1 / Fraction("0.0396")),
    # 4 x 18.125/24 = 3.0208333: 12 times in 48; 37 in 49 would play 4 times in 192
    (Fraction("18.125"), Fraction(24), "112", Fraction(48)),
    # 75 x 21.333/25 = 63.999
    (Fraction("21.333"), Fraction(25), None, Fraction(1000)),
    # 5 x 24 x 1001/60000 = 2.002, and 10 x 18 x 1001/60000 = 3.003: fields a second
    (Fraction(24), NTSC_FIELDS, "23", Fraction(500)),
    (Fraction(18), NTSC_FIELDS, "334", Fraction(1000, 3)),
]


@pytest.mark.parametrize(("speed", "rate", "pattern", "slips"), BY_HAND)
def test_the_cadence_told_and_its_slips_are_those_worked_out_by_hand(
    speed: Fraction, rate: Fraction, pattern: str | None, slips: Fraction
) -> None:
    told = of(speed, rate)

    assert slips == told.slips_every
    assert pattern is None or same_cadence(tuple(map(int, pattern)), told.runs)


@pytest.mark.parametrize(("speed", "rate", "pattern", "slips"), BY_HAND)
def test_breaks_of_a_laid_out_plan_are_as_many_as_told(
    speed: Fraction, rate: Fraction, pattern: str | None, slips: Fraction
) -> None:
    told = of(speed, rate)
    outputs = min((speed / rate).denominator, 60_000)  # a whole period, or so long that ends vanish
    film = int(outputs * speed / rate) + 3 * told.film_frames
    frames = listed(shown(uniform(film, speed, rate, at=rate)))

    found = len(broken(frames, told.film_frames, told.outputs, outputs))
    assert abs(outputs / slips - found) < (1 if outputs == 60_000 else Fraction(1, 10**9)), pattern


def test_16_735363_in_25_is_an_unbroken_1_2_but_for_four_places_in_twenty_seconds() -> None:
    # As a reader of the list sees it: two runs of 1, or of 2, where the other should have come.
    plan = uniform(345, Fraction("16.735363"), 25)
    counts = runs(plan)
    places = [0, *accumulate(counts)]
    breaks = [places[at + 1] for at, (one, other) in enumerate(pairwise(counts)) if one == other]

    assert {1, 2} == set(counts)
    assert 4 == len(breaks)
    # Between breaks lie whole cycles of three and the one frame that breaks: 40 cycles are nearest
    # to the 121.3 output frames that they have on the mean.
    assert [121, 121, 121] == [after - before for before, after in pairwise(breaks)]
    assert (1, 2) == of(Fraction("16.735363"), 25).runs == tuple(counts[:2])


@settings(max_examples=50, deadline=None)
@given(
    st.integers(800, 4_800).map(lambda cents: Fraction(cents, 100)),
    st.sampled_from([24, 25, 30, 50]),
)
def test_what_is_told_plays_more_than_twice_between_breaks_of_the_list(
    speed: Fraction, rate: int
) -> None:
    told = of(speed, rate)
    ratio = speed / rate
    assume(told.slips_every is not None)
    film = ratio.numerator + 3 * told.film_frames
    frames = listed(shown(uniform(film, speed, rate)))
    slips = broken(frames, told.film_frames, told.outputs, ratio.denominator)

    assert told.slips_every is not None
    assert ratio.denominator == told.slips_every * len(slips)
    assert ratio.denominator > 2 * told.outputs * len(slips)
    # It plays through between any two breaks, and not on the mean alone.
    assert all(after - before >= told.outputs for before, after in pairwise(slips))


@settings(max_examples=100, deadline=None)
@given(
    st.integers(8_000, 30_000).map(lambda mils: Fraction(mils, 1000)),
    st.sampled_from([Fraction(24), Fraction(25), Fraction(30), NTSC_FILM]),
)
def test_the_runs_told_are_those_that_the_list_begins_with(speed: Fraction, rate: Fraction) -> None:
    told = of(speed, rate)
    frames = shown(uniform(told.film_frames + 2, speed, rate, at=rate))
    opening = tuple(frames.count(frame) for frame in range(told.film_frames))

    if sum(opening) == told.outputs:
        assert told.runs == opening
    else:  # it slips in its very first cycle, which so is one output frame shorter or longer
        assert 1 == abs(sum(opening) - told.outputs)


@settings(max_examples=40, deadline=None)
@given(
    st.integers(65, 2000), st.integers(65, 2000), st.fractions(0, 1).filter(lambda part: part < 1)
)
def test_no_other_cycle_whose_slips_are_rare_plays_more_often(
    step: int, beat: int, into: Fraction
) -> None:
    """Every cycle of up to 64 film frames is tried, not only what a continued fraction names."""
    ratio = Fraction(step, beat)
    assume(ratio.numerator > LONGEST_CYCLE and ratio < 2)
    step, beat = ratio.numerator, ratio.denominator
    told = cadence_at(step, beat, int(into * step))
    assert told is not None
    assert told.slips_every is not None
    frames = (step * np.arange(beat + 200 * beat // step + 2)) // beat

    def seldom(film: int, outputs: int) -> Fraction:
        return Fraction(beat, len(broken(frames, film, outputs, beat)))

    rare = []
    for film in range(1, LONGEST_CYCLE + 1):
        for outputs in {film * beat // step, -(-film * beat // step)} - {0}:
            slips = seldom(film, outputs)
            if slips >= A_PART_OF_THE_BEAT:
                rare.append((slips / outputs, -film))
    most, film = max(rare)

    assert (most, -film) == (told.slips_every / told.outputs, told.film_frames)


FIELDS_TOLD = [
    # 20 in 60 is 3:3, 24 in 60 is 2:3 and 18 in 60 is 3:3:4 (FFmpeg filters manual, telecine)
    (Fraction(20), "33", Fraction(1000)),  # 3 x 20 x 1001/60000 = 1.001
    (Fraction(24), "23", Fraction(500)),
    (Fraction(18), "334", Fraction(1000, 3)),
]


@pytest.mark.parametrize(("speed", "pattern", "slips"), FIELDS_TOLD)
def test_a_cadence_in_fields_slips_as_often_as_the_listed_fields_do(
    speed: Fraction, pattern: str, slips: Fraction
) -> None:
    rate = Fraction(30000, 1001)
    plan = uniform(2400, speed, rate, at=rate, carry=FIELDS)
    told = cadence_of(plan, plan.timeline.stretches[0])
    assert told is not None
    fields = listed(chain.from_iterable(shown_fields(plan)))
    found = broken(fields, told.film_frames, told.outputs, 3000)

    assert same_cadence(tuple(map(int, pattern)), told.runs)
    assert slips == told.slips_every
    # A 3:3 is a cycle of one film frame told twice, and each slip breaks two of them.
    assert 3000 / slips == len(found) / (2 if pattern == "33" else 1)
