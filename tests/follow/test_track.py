"""A track has the recording where the map of time says, to the sample, and silence elsewhere."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sounds import RATE, Clicks, Tone, found_click, frequency, level

from retime.follow.track import Track, pieces_of
from retime.follow.track_samples import blocks_of
from retime.plan.timemap import Leg, TimeMap
from retime.speedmap.following import Pitch

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.media.sound_reader import SampleSource

LONG = 10**10  # samples: a recording that never ends


def _steady(ratio: Fraction, seconds: int) -> TimeMap:
    whole = Fraction(seconds)
    return TimeMap(legs=(Leg(Fraction(0), whole, Fraction(0), whole * ratio),), duration=whole)


def _shots(count: int) -> TimeMap:
    """Return shots of one to seven seconds, each at a speed of its own."""
    dice, legs, at, heard = np.random.default_rng(4), [], Fraction(0), Fraction(0)
    for _ in range(count):
        lasts = Fraction(int(dice.integers(1000, 7000)), 1000)
        ratio = Fraction(int(dice.integers(16000, 26000)), 20000)
        legs.append(Leg(at, at + lasts, heard, heard + lasts * ratio))
        at, heard = at + lasts, heard + lasts * ratio
    return TimeMap(legs=tuple(legs), duration=at)


def _ramp(count: int) -> TimeMap:
    """Return a ramp from 18 to 22 film frames a second against a transfer at 20, a leg a frame."""
    legs, at = [], Fraction(0)
    for frame in range(count):
        lasts = Fraction(1, 18) + (Fraction(1, 22) - Fraction(1, 18)) * Fraction(frame, count - 1)
        legs.append(Leg(at, at + lasts, Fraction(frame, 20), Fraction(frame + 1, 20)))
        at += lasts
    return TimeMap(legs=tuple(legs), duration=at)


MAPS = {
    "24 at 25": _steady(Fraction(25, 24), 60),
    "20 at 24": _steady(Fraction(6, 5), 60),
    "24 at 24000/1001": _steady(Fraction(1000, 1001), 60),
    "shots": _shots(16),
    "a ramp": _ramp(600),
}


def _heard(
    time_map: TimeMap, source: SampleSource, pitch: Pitch, *, source_rate: int = RATE
) -> NDArray[np.float64]:
    track = Track(
        time_map=time_map, source_rate=source_rate, source_samples=LONG, rate=RATE, pitch=pitch
    )
    made = np.concatenate(list(blocks_of(track, source)))
    assert track.samples == len(made)
    return made


@pytest.mark.parametrize("name", MAPS)
@pytest.mark.parametrize(("pitch", "most"), [(Pitch.MOVES, 0.05), (Pitch.KEPT, 0.0015 * RATE)])
def test_a_click_stands_where_the_map_says(name: str, pitch: Pitch, most: float) -> None:
    """Within 0.05 samples where pitch moves, 1.5 ms where it is kept; channels stay in step."""
    time_map = MAPS[name]
    edges = [leg.begin for leg in time_map.legs] if name == "shots" else []
    wanted = [Fraction(7, 10) + Fraction(13, 10) * k for k in range(int(time_map.duration / 2))]
    wanted = [
        at
        for at in wanted
        if at < time_map.duration - 1 and all(abs(at - edge) > Fraction(1, 50) for edge in edges)
    ]
    heard = [time_map.source_at(at) for at in wanted]
    marks = [round(at * RATE) for at in heard if at is not None]
    made = _heard(time_map, Clicks(marks), pitch)
    for mark in marks:
        at = time_map.at(Fraction(mark, RATE))
        assert at is not None
        found = [found_click(made[:, channel], at * RATE) for channel in (0, 1)]
        assert abs(found[0] - at * RATE) <= most
        assert abs(found[0] - found[1]) < 1


@pytest.mark.parametrize("ratio", [Fraction(1), Fraction(25, 24), Fraction(5, 6)])
@pytest.mark.parametrize(("pitch", "most"), [(Pitch.MOVES, 1), (Pitch.KEPT, 0.0015 * RATE)])
@pytest.mark.parametrize("silence", [Fraction(0), Fraction(1, 2)])
def test_a_click_on_the_first_frame_after_a_gap_is_heard(
    ratio: Fraction, pitch: Pitch, most: float, silence: Fraction
) -> None:
    """Something is left out there, or put in; sound is faded in before its first sample.

    The peak is looked for: of the click's bell, the half before that sample is faded.
    """
    two = Fraction(2)
    later = Leg(two + silence, 4 + silence, 3 * ratio, 5 * ratio)
    time_map = TimeMap(
        legs=(Leg(Fraction(0), two, Fraction(0), two * ratio), later), duration=later.end
    )
    mark = later.begin * RATE

    made = _heard(time_map, Clicks([int(3 * ratio * RATE)], 1), pitch)[:, 0]

    assert abs(int(abs(made).argmax()) - mark) <= most
    assert abs(made).max() > 0.5


def test_what_is_left_out_is_crossed_over_without_a_dip_or_a_step() -> None:
    """Half a second is left out of a tone that stands in the same phase on both sides."""
    before = Leg(Fraction(0), Fraction(1), Fraction(0), Fraction(1))
    after = Leg(Fraction(1), Fraction(2), Fraction(3, 2), Fraction(5, 2))
    made = _heard(TimeMap(legs=(before, after), duration=Fraction(2)), Tone(440), Pitch.MOVES)[:, 0]
    whole = _heard(_steady(Fraction(1), 2), Tone(440), Pitch.MOVES)[:, 0]

    assert abs(made - whole)[RATE // 2 : RATE * 3 // 2].max() < 1e-6


def test_ninety_minutes_do_not_drift() -> None:
    """The last click of 90 minutes at 24 run as 25 stands as near as the first."""
    time_map = _steady(Fraction(25, 24), 5400)
    marks = [RATE * 60, RATE * 5400]
    track = Track(time_map=time_map, source_rate=RATE, source_samples=LONG, rate=RATE)
    near = {mark: Fraction(mark * 24, 25) for mark in marks}
    at, found = 0, {}
    for block in blocks_of(track, Clicks(marks, 1)):
        for mark, place in near.items():
            if at + 400 < place < at + len(block) - 400:
                found[mark] = at + found_click(block[:, 0], place - at) - float(place)
        at += len(block)

    assert 5400 * RATE == at
    assert set(marks) == set(found)
    assert max(map(abs, found.values())) < 0.05


@pytest.mark.parametrize(
    ("ratio", "cents"), [(Fraction(25, 24), 70.67), (Fraction(24, 20), 315.64)]
)
def test_pitch_moves_by_the_exact_ratio_or_stays(ratio: Fraction, cents: float) -> None:
    """24 to 25 is 70.67 cents, 20 to 24 is 315.64 ("Film and audio conversion formulas")."""
    moved = _heard(_steady(ratio, 12), Tone(440), Pitch.MOVES)[RATE:-RATE, 0]
    kept = _heard(_steady(ratio, 12), Tone(440), Pitch.KEPT)[RATE:-RATE, 0]

    assert abs(1200 * np.log2(frequency(moved) / 440) - cents) < 0.01
    assert abs(frequency(kept) - 440) < 0.1


@pytest.mark.parametrize("pitch", [220, 440, 1234])
def test_joints_of_stretched_sound_keep_its_level(pitch: int) -> None:
    """Joints of 20-second pieces and of shots: less than 1 dB up or down."""
    legs = MAPS["shots"].legs[:6]
    shots = TimeMap(legs=legs, duration=legs[-1].end)
    for time_map in (_steady(Fraction(25, 24), 65), shots):
        steps = level(_heard(time_map, Tone(pitch), Pitch.KEPT)[RATE // 2 : -RATE // 2, 0])
        assert np.abs(steps).max() < 1


def test_a_stretched_attack_stays_within_5_ms() -> None:
    """A single sample at full scale: what is above a tenth of its peak is 5 ms long at most."""

    class _Attack(Clicks):
        def read(self, first: int, count: int) -> NDArray[np.float64]:
            made = np.zeros((count, 1))
            inside = self.marks[(self.marks >= first) & (self.marks < first + count)] - first
            made[inside] = 0.9
            return made

    for ratio in (Fraction(25, 24), Fraction(6, 5), Fraction(20, 24)):
        made = np.abs(_heard(_steady(ratio, 6), _Attack([2 * RATE + 77], 1), Pitch.KEPT)[:, 0])
        loud = np.flatnonzero(made > made.max() / 10)
        assert loud[-1] - loud[0] <= 0.005 * RATE


def test_the_rate_of_a_recording_is_brought_to_the_track_s() -> None:
    time_map = _steady(Fraction(1), 10)
    made = _heard(time_map, Clicks([44100 * 4], 1), Pitch.MOVES, source_rate=44100)

    assert abs(found_click(made[:, 0], Fraction(RATE * 4)) - RATE * 4) < 0.05


@settings(max_examples=30, deadline=None)
@given(
    st.fractions(min_value=Fraction(1, 10), max_value=3, max_denominator=2000),
    st.fractions(min_value=0, max_value=2, max_denominator=300),
)
def test_time_that_is_not_changed_copies_samples(lasts: Fraction, heard: Fraction) -> None:
    """Every sample is one of the recording, from the nearest whole one on; the rest is silence."""
    noise = np.random.default_rng(0).uniform(-1, 1, (6 * RATE, 2))

    class _Noise:
        channels = 2

        def read(self, first: int, count: int) -> NDArray[np.float64]:
            made = np.zeros((count, 2))
            begin, stop = max(first, 0), min(first + count, len(noise))
            made[begin - first : stop - first] = noise[begin:stop]
            return made

    begin = Fraction(1, 3)
    leg = Leg(begin, begin + lasts, heard, heard + lasts)
    track = Track(
        time_map=TimeMap(legs=(leg,), duration=begin + lasts + 1),
        source_rate=RATE,
        source_samples=len(noise),
        rate=RATE,
    )
    made = np.concatenate(list(blocks_of(track, _Noise())))
    (piece,) = pieces_of(track)
    fade = RATE // 500
    at = int(piece.position + Fraction(1, 2))
    inner = slice(piece.first, piece.stop - fade)
    wanted = noise[at : at + piece.stop - piece.first - fade]
    assert np.array_equal(wanted, made[inner])
    assert not made[: max(0, piece.first - fade)].any()
    assert not made[piece.stop :].any()


@pytest.mark.parametrize(
    ("rate", "each"),
    [
        (Fraction(24000, 1001), Fraction(2002)),
        (Fraction(24), Fraction(2000)),
        (Fraction(25), Fraction(1920)),
        (Fraction(30000, 1001), Fraction(8008, 5)),
        (Fraction(30), Fraction(1600)),
    ],
)
def test_a_frame_has_the_published_number_of_samples(rate: Fraction, each: Fraction) -> None:
    """Samples a frame at 48 kHz: Brooks Harris, "Conversion of Audio Samples to Video Frames"."""
    track = Track(
        time_map=TimeMap(legs=(), duration=5005 / rate),
        source_rate=RATE,
        source_samples=1,
        rate=RATE,
    )
    assert int(5005 * each + Fraction(1, 2)) == track.samples
