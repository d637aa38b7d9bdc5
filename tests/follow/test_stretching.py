"""Sound whose pitch is kept stands in time, and its joints are not heard."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from sounds import RATE, Clicks, Tone, found_click, frequency, level

from retime.follow.track import Track
from retime.follow.track_samples import blocks_of
from retime.plan.timemap import Leg, TimeMap
from retime.speedmap.following import Pitch

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from retime.media.sound_reader import SampleSource

LONG = 10**10  # samples: a recording that never ends


def _map(lasting: Sequence[Fraction], ratios: Sequence[Fraction]) -> TimeMap:
    here = list(accumulate(lasting, initial=Fraction(0)))
    heard = [lasts * ratio for lasts, ratio in zip(lasting, ratios, strict=True)]
    there = list(accumulate(heard, initial=Fraction(0)))
    legs = [
        Leg(*times, *sources)
        for times, sources in zip(pairwise(here), pairwise(there), strict=True)
    ]
    return TimeMap(legs=tuple(legs), duration=here[-1])


def _steady(ratio: Fraction, seconds: int) -> TimeMap:
    return _map([Fraction(seconds)], [ratio])


def _shots() -> TimeMap:
    """Return shots that swing between speeds, and one at the recording's own."""
    ratios = [Fraction(*one) for one in ((6, 5), (9, 10), (1, 1), (11, 10), (4, 5), (3, 2), (5, 6))]
    return _map([Fraction(2 * k + 9, 7) for k in range(len(ratios))], ratios)


def _ramp(frames: int, first: int = 18, last: int = 22) -> TimeMap:
    begin, change = Fraction(1, first), Fraction(1, last) - Fraction(1, first)
    lasting = [begin + change * Fraction(frame, frames - 1) for frame in range(frames)]
    return _map(lasting, [Fraction(1, 20) / lasts for lasts in lasting])


MAPS = {
    "25 in 24": _steady(Fraction(25, 24), 24),
    "24 in 20": _steady(Fraction(6, 5), 24),
    "16 in 20": _steady(Fraction(4, 5), 24),
    "1001 in 1000": _steady(Fraction(1001, 1000), 24),
    "shots": _shots(),
    "a ramp": _ramp(200),
    "a short ramp": _ramp(40),
}


def _kept(time_map: TimeMap, source: SampleSource) -> NDArray[np.float64]:
    track = Track(
        time_map=time_map,
        source_rate=RATE,
        source_samples=LONG,
        rate=RATE,
        pitch=Pitch.KEPT,
    )
    return np.concatenate(list(blocks_of(track, source)))


@pytest.mark.parametrize("name", MAPS)
@pytest.mark.parametrize("pitch", [60, 110, 3000])
def test_joints_keep_the_level_of_a_tone(name: str, pitch: int) -> None:
    """In any 50 ms: less than 1 dB up or down, bass as well as treble."""
    made = _kept(MAPS[name], Tone(pitch))[RATE // 4 : -RATE // 4, 0]
    assert np.abs(level(made, RATE // 20)).max() < 1


class _Music:
    """Chords of eight overtones that come and go, a plucked tune over them, and a little hiss."""

    channels = 1

    def __init__(self, seconds: int) -> None:
        dice = np.random.default_rng(8)
        self._sound = dice.normal(0, 0.002, seconds * RATE)
        at = 0.0
        while at < seconds - 3:
            lasts, root = dice.uniform(0.8, 2.5), 55 * 2 ** (dice.integers(0, 12) / 12)
            for tones in (0, 7, 12, 16, 19, 24):
                self._add(at, lasts + 0.4, root * 2 ** (tones / 12), 0.03, 8)
            for beat in np.arange(at, at + lasts, 0.375):
                self._add(beat, 0.5, 440 * 2 ** (dice.integers(-12, 15) / 12), 0.05, 4)
            at += lasts

    def _add(self, at: float, lasts: float, pitch: float, size: float, overtones: int) -> None:
        times = np.arange(int(lasts * RATE)) / RATE
        rise = np.minimum(1, np.minimum(times / 0.02, (lasts - times) / 0.2))
        sound = sum(
            np.sin(2 * np.pi * pitch * over * times + over * pitch) / over
            for over in range(1, overtones + 1)
        )
        begin = int(at * RATE)
        self._sound[begin : begin + len(times)] += size * rise * np.asarray(sound)

    def read(self, first: int, count: int) -> NDArray[np.float64]:
        made = np.zeros(count)
        begin, stop = max(first, 0), min(first + count, len(self._sound))
        if begin < stop:
            made[begin - first : stop - first] = self._sound[begin:stop]
        return made[:, None]


def test_joints_keep_the_level_of_music(monkeypatch: pytest.MonkeyPatch) -> None:
    """In any 50 ms about a joint: less than 1 dB from what one call makes of it all."""
    music, over = _Music(32), RATE // 20
    for ratio in (Fraction(25, 24), Fraction(9, 10)):
        time_map = _steady(ratio, 24)
        joined = _kept(time_map, music)[:, 0]
        with monkeypatch.context() as once:
            once.setattr("retime.follow.stretching._LONGEST", 60)
            whole = _kept(time_map, music)[:, 0]
        powers = [np.convolve(sound**2, np.ones(over), "same") for sound in (joined, whole)]
        steps = 10 * np.log10(powers[0] / powers[1])
        joint = len(joined) // 2
        assert np.abs(steps[joint - 4800 : joint + 4800]).max() < 1


@pytest.mark.parametrize("name", MAPS)
def test_clicks_stand_in_time_at_joints_too(name: str) -> None:
    """Within 1.5 ms, wherever they are, and half of them 0.2; both channels alike."""
    time_map = MAPS[name]
    gap = RATE // 5 + 1
    end = time_map.legs[-1].source_end * RATE
    marks = list(range(gap, int(end) - gap, gap))
    made = _kept(time_map, Clicks(marks))
    late = []
    for mark in marks:
        place = time_map.at(Fraction(mark, RATE))
        assert place is not None
        found = [found_click(made[:, channel], place * RATE) for channel in (0, 1)]
        assert abs(found[0] - found[1]) < 0.01
        late.append((found[0] - float(place * RATE)) / RATE)
    assert np.abs(late).max() < 0.0015
    assert abs(np.median(late)) < 0.0002


@pytest.mark.parametrize("name", ["25 in 24", "24 in 20", "16 in 20", "1001 in 1000", "shots"])
def test_a_tone_keeps_its_pitch(name: str) -> None:
    """440 Hz within 0.1 Hz: ISO 16's standard pitch."""
    assert abs(frequency(_kept(MAPS[name], Tone(440))[RATE:-RATE, 0]) - 440) < 0.1


def test_six_channels_stay_in_step() -> None:
    time_map = _steady(Fraction(25, 24), 8)
    mark = 4 * RATE
    made = _kept(time_map, Clicks([mark], 6))
    found = [found_click(made[:, one], Fraction(mark * 24, 25)) for one in range(6)]
    assert max(found) - min(found) < 0.01


CHORDS = {
    "E and H": (41.2, 61.7),
    "A and e": (55.0, 82.4),
    "A and e, an octave up": (110.0, 165.0),
    "a bass with overtones": tuple(55.0 * over for over in range(1, 11)),
    "an organ's chord": tuple(
        root * over for root in (65.41, 130.8, 164.8, 196.0, 261.6) for over in range(1, 7)
    ),
}


class _Chord:
    """Sines for ever, of any frequencies, or whatever else they are multiplied with."""

    channels = 1

    def __init__(self, pitches: Sequence[float], beats: float = 0) -> None:
        self._pitches, self._beats = pitches, beats

    def read(self, first: int, count: int) -> NDArray[np.float64]:
        turns = 2 * np.pi * np.arange(first, first + count) / RATE
        sines = [np.sin(pitch * turns + number) for number, pitch in enumerate(self._pitches)]
        swell = 1 + 0.5 * np.sin(self._beats * turns)
        return np.asarray(sum(sines) * swell / len(sines))[:, None]


def _astray(made: NDArray[np.float64], pitches: Sequence[float]) -> float:
    """Return the power further than 3 Hz from all pitches, in dB against all of it."""
    power = np.abs(np.fft.rfft(made * np.blackman(len(made)))) ** 2
    at = np.fft.rfftfreq(len(made), 1 / RATE)
    far = np.all([np.abs(at - pitch) > 3 for pitch in pitches], axis=0)
    return float(10 * np.log10(power[far].sum() / power.sum()))


@pytest.mark.parametrize("name", CHORDS)
@pytest.mark.parametrize("ratio", [Fraction(25, 24), Fraction(24, 25)])
def test_low_chords_keep_their_pitches(name: str, ratio: Fraction) -> None:
    """What lies further than 3 Hz from every tone is 40 dB weaker than they are."""
    made = _kept(_steady(ratio, 12), _Chord(CHORDS[name]))[RATE:-RATE, 0]
    assert _astray(made, CHORDS[name]) < -40


@pytest.mark.parametrize("ratio", [Fraction(25, 24), Fraction(24, 25), Fraction(9, 10)])
def test_a_bass_that_swells_keeps_its_pitch(ratio: Fraction) -> None:
    """Four times a second, and so many times the ratio when it is stretched."""
    made = _kept(_steady(ratio, 12), _Chord([55], beats=4))[RATE:-RATE, 0]
    assert _astray(made, [55, 55 - 4 * float(ratio), 55 + 4 * float(ratio)]) < -40


@pytest.mark.parametrize("pitch", [41.2, 55, 82.4, 110])
@pytest.mark.parametrize("name", ["24 in 20", "16 in 20", "shots"])
def test_a_low_tone_keeps_its_pitch(name: str, pitch: float) -> None:
    """Within 0.1 Hz, from a double bass's lowest string up."""
    assert abs(frequency(_kept(MAPS[name], Tone(pitch))[RATE:-RATE, 0]) - pitch) < 0.1


class _Both:
    """Clicks in the middle of a chord that is silent while they last."""

    channels = 1

    def __init__(self, chord: _Chord, marks: Sequence[int]) -> None:
        self._chord, self._clicks = chord, Clicks(marks, 1)
        self._silent = (marks[0] - RATE // 4, marks[-1] + RATE // 4)

    def read(self, first: int, count: int) -> NDArray[np.float64]:
        numbers = np.arange(first, first + count)
        sounds = (numbers < self._silent[0]) | (numbers > self._silent[1])
        return self._chord.read(first, count) * sounds[:, None] + self._clicks.read(first, count)


@pytest.mark.parametrize("apart", [2, 3])
def test_clicks_cost_the_music_before_and_after_them_nothing(apart: int) -> None:
    """Clicks lie within 5 ms and chords two seconds away are pure, in one piece of 20 s."""
    pitches = CHORDS["an organ's chord"]
    begin = 9 * RATE
    marks = [begin, begin + RATE // 24] if apart == 2 else list(range(begin, 11 * RATE, RATE // 24))
    time_map = _steady(Fraction(25, 24), 19)
    made = _kept(time_map, _Both(_Chord(pitches), marks))[:, 0]
    for mark in marks:
        place = Fraction(mark * 24, 25)
        assert abs(found_click(made, place, 900) - place) < 0.005 * RATE
    first, last = (int(one * 24 / 25) for one in (marks[0], marks[-1]))
    assert _astray(made[RATE // 2 : first - 2 * RATE], pitches) < -40
    assert _astray(made[last + 2 * RATE : -RATE // 2], pitches) < -40


@pytest.mark.parametrize("name", MAPS)
@pytest.mark.parametrize("speed", [9, 16, 24])
def test_clicks_on_every_film_frame_stand_in_time(name: str, speed: int) -> None:
    """Within 5 ms: so close that more than one lies in a block of the stretcher's."""
    time_map = MAPS[name]
    end = time_map.legs[-1].source_end
    marks = [round(Fraction(frame, speed) * RATE) for frame in range(3, int(end * speed) - 3)]
    made = _kept(time_map, Clicks(marks, 1))[:, 0]
    for mark in marks:
        place = time_map.at(Fraction(mark, RATE))
        assert place is not None
        assert abs(found_click(made, place * RATE, 600) - place * RATE) < 0.005 * RATE
