"""Sound whose pitch moves is the recording's wave, at every sample's exact place in it."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sounds import RATE, Clicks, Tone, found_click

from retime.film.rounding import ceiling_of
from retime.follow.track import Track
from retime.follow.track_samples import blocks_of
from retime.plan.timemap import Leg, TimeMap

LONG = 10**10  # samples: a recording that never ends


def _map(*shots: tuple[Fraction, Fraction], heard: Fraction = Fraction(0)) -> TimeMap:
    """Return shots of so many seconds, each with its ratio; the recording goes on through them."""
    here = list(accumulate((lasts for lasts, _ in shots), initial=Fraction(0)))
    there = list(accumulate((lasts * ratio for lasts, ratio in shots), initial=heard))
    legs = [
        Leg(*times, *sources)
        for times, sources in zip(pairwise(here), pairwise(there), strict=True)
    ]
    return TimeMap(legs=tuple(legs), duration=here[-1])


def _ramp(frames: int, first: int, last: int) -> TimeMap:
    """Return a ramp of film frames against a transfer at 20, a leg a frame."""
    begin, change = Fraction(1, first), Fraction(1, last) - Fraction(1, first)
    lasts = [begin + change * Fraction(frame, frames - 1) for frame in range(frames)]
    return _map(*((each, Fraction(1, 20) / each) for each in lasts))


def _error(time_map: TimeMap, frequency: float) -> float:
    """Return the greatest difference to the wave that a tone has at each sample's exact time."""
    track = Track(time_map=time_map, source_rate=RATE, source_samples=LONG, rate=RATE)
    made = np.concatenate(list(blocks_of(track, Tone(frequency, size=1))))[:, 0]
    wanted = np.zeros(len(made))
    for leg in time_map.legs:
        first, stop = ceiling_of(leg.begin * RATE), ceiling_of(leg.end * RATE)
        heard = float(leg.source_at(Fraction(first, RATE)))
        times = heard + np.arange(stop - first) * (float(leg.ratio) / RATE)
        wanted[first:stop] = np.sin(2 * np.pi * frequency * times)[: len(made) - first]
    away = RATE // 100  # from the ends, where the track fades in and out of the middle of the tone
    return float(np.abs(made - wanted)[away:-away].max())


@pytest.mark.parametrize(
    "time_map",
    [
        _map((Fraction(5), Fraction(25, 24))),
        _map((Fraction(5), Fraction(6, 5)), heard=Fraction(1, 96001)),
        _map((Fraction(5), Fraction(3, 4)), heard=Fraction(1, 333333)),
        _map((Fraction(5), Fraction(999_999, 1_000_000)), heard=Fraction(1, 96000)),
        _map((Fraction(5), Fraction(1001, 960))),
    ],
    ids=[
        "25/24",
        "6/5 off the grid",
        "3/4 off the grid",
        "nearly 1, half a sample off",
        "1001/960",
    ],
)
def test_a_tone_has_the_wave_of_the_exact_times(time_map: TimeMap) -> None:
    """80 dB below the tone, and more: a thousandth of a sample at 5 kHz is 64 dB."""
    assert _error(time_map, 5000) < 10 ** (-64 / 20)
    assert _error(time_map, 440) < 10 ** (-80 / 20)


def test_a_wave_goes_on_from_shot_to_shot() -> None:
    """No joint of eight shots steps by more than a thousandth of a sample."""
    dice = np.random.default_rng(2)
    shots = [
        (
            Fraction(int(dice.integers(300, 1500)), 1000),
            Fraction(int(dice.integers(16000, 26000)), 20000),
        )
        for _ in range(8)
    ]
    assert _error(_map(*shots), 5000) < 10 ** (-60 / 20)


@pytest.mark.parametrize(("first", "last"), [(18, 22), (26, 16), (8, 12)])
def test_a_ramp_has_the_wave_of_the_exact_times(first: int, last: int) -> None:
    """Every film frame of a ramp has a speed of its own, and the wave none of their edges."""
    assert _error(_ramp(120, first, last), 5000) < 10 ** (-80 / 20)


def test_copied_sound_is_joined_without_a_step() -> None:
    """Copies stand up to half a sample off, and slide there: no step is above that of the tone."""
    heard = Fraction(1, 97000)  # half a sample
    shots = _map(
        (Fraction(1, 3), Fraction(6, 5)),
        (Fraction(1), Fraction(1)),
        (Fraction(1), Fraction(9, 10)),
        heard=heard,
    )
    track = Track(time_map=shots, source_rate=RATE, source_samples=LONG, rate=RATE)
    made = np.concatenate(list(blocks_of(track, Tone(440, size=1))))[200:-200, 0]
    # A tone of 528 Hz bends by 0.005 from sample to sample, and by 0.012 more where its speed
    # changes by a fifth; half a sample of it is 0.029.
    assert np.abs(np.diff(made, 2)).max() < 0.02


def test_clicks_of_a_ramp_of_two_minutes_stand_within_a_twentieth_of_a_sample() -> None:
    """Nothing adds up over 2,400 film frames, each of a speed of its own."""
    time_map = _ramp(2_400, 18, 22)
    marks = [RATE * second + 17 for second in (1, 40, 80, 118)]
    track = Track(time_map=time_map, source_rate=RATE, source_samples=LONG, rate=RATE)
    found, at = [], 0
    for block in blocks_of(track, Clicks(marks, 1)):
        for mark in marks:
            place = time_map.at(Fraction(mark, RATE))
            assert place is not None
            if at + 400 < place * RATE < at + len(block) - 400:
                found.append(at + found_click(block[:, 0], place * RATE - at) - place * RATE)
        at += len(block)
    assert len(marks) == len(found)
    assert max(abs(one) for one in found) < 0.05


@settings(max_examples=25, deadline=None)
@given(
    st.fractions(min_value=Fraction(1, 2), max_value=2, max_denominator=5000),
    st.fractions(min_value=Fraction(1, 100), max_value=1, max_denominator=1000),
    st.sampled_from([44100, 48000, 96000]),
)
def test_a_track_is_as_long_as_it_should_be_to_the_sample(
    ratio: Fraction, lasts: Fraction, rate: int
) -> None:
    """round(duration x rate), whatever the ratio and the recording's rate."""
    time_map = _map((lasts, ratio))
    track = Track(time_map=time_map, source_rate=rate, source_samples=LONG, rate=RATE)
    assert int(lasts * RATE + Fraction(1, 2)) == sum(
        len(block) for block in blocks_of(track, Tone(440))
    )
