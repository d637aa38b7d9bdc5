"""What is reckoned many at once is the same as reckoned one by one from the definitions."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

import numpy as np
import pytest
from drawnfilms import drawn

from retime.shots.likeness import unlike
from retime.shots.measures import Eye
from retime.shots.views import tiny_of, views_of
from retime.signal.fades import rise_in

if TYPE_CHECKING:
    from collections.abc import Sequence

BORDER = 128
"""Pictures are measured by so many at a time."""


def test_every_picture_is_held_against_the_one_before_it_wherever_batches_end() -> None:
    pictures = drawn(20_001).pictures[: 2 * BORDER + 3]
    eye = Eye()
    for picture in pictures:
        eye.see(picture)
    measures = eye.measures()

    assert 2 * BORDER + 3 == len(measures) == len(measures.views) == len(measures.change)
    assert 0 == measures.change[0]
    for at in (1, 2, BORDER - 1, BORDER, BORDER + 1, 2 * BORDER, 2 * BORDER + 2):
        before, view = (views_of(tiny_of(pictures[one])[None]) for one in (at - 1, at))
        assert np.array_equal(view[0], measures.views[at])
        assert unlike(before, view)[0] == measures.change[at]


def test_an_eye_that_is_asked_in_between_goes_on_seeing() -> None:
    pictures = drawn(20_001).pictures[:40]
    eye, asked = Eye(), Eye()
    for picture in pictures:
        eye.see(picture)
        asked.see(picture)
        asked.measures()

    one, other = eye.measures(), asked.measures()
    assert np.array_equal(one.change, other.change)
    assert np.array_equal(one.tiny, other.tiny)
    assert np.array_equal(one.lines, other.lines)


def test_a_tiny_picture_is_the_whole_means_of_squares_of_four() -> None:
    small = np.random.default_rng(3).integers(0, 256, (21, 26), np.uint8)

    tiny = tiny_of(small)

    assert (5, 6) == tiny.shape
    for row, column in np.ndindex(5, 6):
        square = small[4 * row : 4 * row + 4, 4 * column : 4 * column + 4]
        assert int(square.sum(dtype=int)) // 16 == tiny[row, column]


def badness(values: Sequence[float], nothing: int, steps: int) -> tuple[float, float]:
    """Return the error of a rise as a part of its level, dark frames weighing most, and its level.

    From the definitions: 0 while there is nothing, then equal steps up to 1.
    """
    shape = [min(max((at - nothing + 1) / (steps + 1), 0), 1) for at in range(len(values))]
    level = median(value / part for value, part in zip(values, shape, strict=True) if part > 0.45)
    if level <= 0:
        return float("inf"), level
    parts = zip(values, shape, strict=True)
    return sum(abs(v - level * part) / (0.05 + part) for v, part in parts) / level, level


@pytest.mark.parametrize(
    ("darkness", "steps", "level", "noise"),
    [
        (3, 12, 40.0, 0.5),
        (0, 20, 9.0, 0.3),
        (9, 5, 60.0, 3.0),
        (4, 0, 30.0, 1.0),
    ],
)
def test_no_rise_fits_a_series_better_than_that_which_is_found(
    darkness: int, steps: int, level: float, noise: float
) -> None:
    rng = np.random.default_rng(5)
    ramp = np.clip((np.arange(45) - darkness + 1) / (steps + 1), 0, 1)
    series = (level * ramp + rng.normal(0, noise, 45)).astype(np.float32)

    rise = rise_in(series, darkness)

    values = [float(value) for value in series]
    tried = {
        (nothing, count): badness(values, nothing, count)
        for nothing in range(darkness + 1)
        for count in range(45 - nothing)
    }
    best = min(tried, key=lambda one: tried[one][0])
    at_once = min(bad for (_, count), (bad, _) in tried.items() if not count)
    assert rise is not None
    assert best == (rise.nothing, rise.steps)
    assert rise.level == pytest.approx(tried[best][1])
    assert rise.against == pytest.approx(tried[best][0] / at_once)
    assert abs(rise.steps - steps) <= 3
