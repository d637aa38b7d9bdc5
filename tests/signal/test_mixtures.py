"""Sums that a rule of mixing makes nothing of, and the runs that even spacing lays."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from retime.signal.changes import FURTHEST
from retime.signal.mixtures import Mixture, Rule, residues
from retime.signal.patterns import Pattern, evenly, known_patterns, turned


@pytest.mark.parametrize(("film", "outputs"), [(16, 25), (2, 3), (3, 4), (5, 6), (11, 12)])
@pytest.mark.parametrize("rule", Rule)
def test_mixed_pictures_of_noise_leave_next_to_nothing_in_their_own_phase_alone(
    film: int, outputs: int, rule: Rule
) -> None:
    """Film frames of noise are mixed here by the weights that the documentation states.

    Sums may leave a fiftieth of a film frame: in power, of noise of 30 codes, 0.36 codes squared.
    """
    noise = np.random.default_rng(3).normal(0, 30, (80, 64))
    pictures = np.array([mixed(noise, k, Fraction(film, outputs), rule) for k in range(70)])
    apart = np.zeros((70, FURTHEST + 1))
    for back in range(1, FURTHEST + 1):
        apart[back:, back] = ((pictures[back:] - pictures[:-back]) ** 2).mean(axis=1)

    left = residues(apart, Fraction(film, outputs), rule)

    phases = np.arange(40, 70) * film % outputs
    own = left[phases, np.arange(40, 70)]
    assert np.nanmax(own) < (30 / 50) ** 2
    other = left[(phases + 1) % outputs, np.arange(40, 70)]
    assert np.nanmedian(other) > 1


@pytest.mark.parametrize("ratio", [Fraction(11, 12), Fraction(23, 25), Fraction(24, 25)])
def test_sums_of_a_nearly_even_ratio_reach_back_less_than_a_cycle(ratio: Fraction) -> None:
    """So that a shot shorter than a cycle tells something: its middle is where halves meet."""
    chance = np.random.default_rng(5)
    length = ratio.denominator - 2
    apart = chance.uniform(1, 2, (length, FURTHEST + 1))

    last = residues(apart, ratio, Rule.BETWEEN)[:, -1]

    assert not np.isnan(last).all()


def mixed(
    noise: np.ndarray[tuple[int, int], np.dtype[np.float64]],
    picture: int,
    ratio: Fraction,
    rule: Rule,
) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return a picture: between its two neighbours, or the mean of what the film shows in it."""
    at = picture * ratio
    frame, part = int(at), float(at % 1)
    if rule is Rule.WINDOW:
        after = max(Fraction(0), (at + ratio) - (frame + 1)) / ratio
        part = float(after)
    if rule is Rule.NEARLY:
        part = 0.0 if part < 15 / 255 else 1.0 if part > 240 / 255 else part
    made: np.ndarray[tuple[int], np.dtype[np.float64]] = (1 - part) * noise[frame] + part * noise[
        frame + 1
    ]
    return made


def test_a_mixture_names_its_film_frames_with_weights_of_one_in_all() -> None:
    one = Mixture(film=16, outputs=25, phase=0, rule=Rule.BETWEEN)

    assert ((0, Fraction(9, 25)), (1, Fraction(16, 25))) == one.parts(1)
    assert ((16, Fraction(1)),) == one.parts(25)
    assert all(1 == sum(share for _, share in one.parts(k)) for k in range(60))


PUBLISHED = {
    # FFmpeg's fps filter, rounding to the nearest, run on numbered frames (version 5.1.9).
    (16, 24): "21", (18, 24): "121", (20, 24): "11211", (22, 24): "11111211111",
    (16, 25): "2121212212121212", (18, 25): "121211212112112121", (20, 25): "1211",
    (16, 30): "22221222", (18, 30): "212", (20, 30): "21", (22, 30): "12112121121",
}  # fmt: skip


@pytest.mark.parametrize("pair", PUBLISHED)
def test_even_runs_are_those_of_the_fps_filter_turned(pair: tuple[int, int]) -> None:
    ratio = Fraction(*pair)
    runs = evenly(ratio.numerator, ratio.denominator)
    wanted = tuple(map(int, PUBLISHED[pair]))

    assert wanted in {runs[at:] + runs[:at] for at in range(len(runs))}
    assert any(
        turned(one, 0)[0] == runs
        for one in known_patterns(Fraction(pair[1]))
        if not one.in_fields and Fraction(len(one.runs), one.outputs) == ratio
    )


def test_patterns_of_ffmpeg_s_telecine_are_looked_for() -> None:
    """FFmpeg filters documentation, telecine."""
    known = {one.runs for one in known_patterns(None) if one.in_fields and one.upper_first}
    doubled = known | {2 * runs for runs in known}

    for digits in ("23", "2332", "33", "334", "3444", "32222", "12222", "222222222223", "33333334"):
        runs = tuple(map(int, digits))
        assert doubled & {runs[at:] + runs[:at] for at in range(len(runs))}, digits


def test_a_place_of_a_cycle_begins_with_its_own_run() -> None:
    one = Pattern(runs=(1, 3, 2))

    assert ((3, 2, 1), 2) == turned(one, 9)
    assert [0, 1, 1, 1, 2, 2, 3] == [one.film_at(place) for place in range(7)]
