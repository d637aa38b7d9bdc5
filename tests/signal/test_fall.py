"""A body let go: how many frames it fell, by where its edges are told."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
import pytest

from retime.signal.fall import Fallen, fallen
from retime.signal.period import Unclear

if TYPE_CHECKING:
    from numpy.typing import NDArray

ROWS = 190.0
TALL = 14.0  # the body, in rows
TOP = 10.0
GRAVITY = 9.80665


def edges(  # noqa: PLR0913 - a fall and how it is seen
    fps: float, metres: float, let_go: float, frames: int, *, seed: int = 0, off: float = 0.3
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return lower and upper edges of a fall of a height that fills the picture, read roughly."""
    chance = np.random.default_rng(seed)
    rows_a_metre = (ROWS - 10 - TOP - TALL) / metres
    seconds = np.maximum(np.arange(frames) - let_go, 0) / fps
    top = TOP + rows_a_metre * np.minimum(GRAVITY / 2 * seconds**2, metres)
    moved = np.concatenate([[0.0], np.diff(top)]) > 0.4
    lower = np.where(moved, top + TALL, np.nan) + chance.normal(0, off, frames)
    upper = np.where(moved, np.roll(top, 1), np.nan) + chance.normal(0, off, frames)
    return lower, upper


def told(lower: NDArray[np.float64], upper: NDArray[np.float64]) -> Fallen:
    fall = fallen(lower, upper, ROWS)
    assert isinstance(fall, Fallen), fall
    return fall


def reason(lower: NDArray[np.float64], upper: NDArray[np.float64]) -> str:
    fall = fallen(lower, upper, ROWS)
    assert isinstance(fall, Unclear), fall
    return fall.reason


@pytest.mark.parametrize(("fps", "frames"), [(16, 7.23), (18, 8.13), (20, 9.03), (24, 10.84)])
@pytest.mark.parametrize("seed", range(6))
def test_a_fall_of_one_metre_takes_the_frames_that_galileos_rule_says(
    fps: float, frames: float, seed: int
) -> None:
    """sqrt(2 h / g) = 0.4516 s for 1 m: textbook, with standard gravity."""
    let_go = 8 + seed / 6
    fall = told(*edges(fps, 1, let_go, 34, seed=seed))

    assert abs(fall.frames - frames) < 2 * fall.uncertainty
    assert fall.uncertainty < 0.6
    assert fall.let_go == pytest.approx(let_go, abs=0.4)


def test_a_longer_fall_is_told_more_closely() -> None:
    fall = told(*edges(20, 4.9, 9, 40))

    assert fall.frames == pytest.approx(20 * sqrt(2 * 4.9 / GRAVITY), rel=0.02)
    assert fall.agreed > 0.9


def test_edges_that_belong_to_something_else_are_left_aside() -> None:
    lower, upper = edges(20, 4.9, 9, 40)
    lower[[13, 17, 22]] = 150
    upper[[15, 24]] = 3

    fall = told(lower, upper)

    assert fall.frames == pytest.approx(20, rel=0.03)
    assert fall.agreed < 0.95


def test_what_flies_up_from_the_ground_is_no_part_of_the_fall() -> None:
    lower, upper = edges(20, 4.9, 9, 40)
    lower[30:36], upper[30:36] = ROWS - 4, [150, 145, 142, 141, 142, 145]

    assert told(lower, upper).frames == pytest.approx(20, rel=0.03)


def test_a_fall_that_has_not_ended_is_refused() -> None:
    lower, upper = edges(20, 4.9, 9, 40)

    assert "still falling in the last frame" in reason(lower[:25], upper[:25])


def test_a_fall_that_had_begun_is_refused() -> None:
    lower, upper = edges(20, 4.9, 9, 40)

    assert "falling already" in reason(lower[13:], upper[13:])


def test_a_fall_out_of_the_box_is_refused() -> None:
    lower, upper = edges(20, 4.9, 9, 40)
    cut = 120.0
    lower, upper = np.minimum(lower, cut), np.where(upper < cut, upper, np.nan)
    fall = fallen(lower, upper, cut)

    assert isinstance(fall, Unclear)
    assert "leaves the box" in fall.reason


def test_an_even_descent_is_no_fall() -> None:
    lower = 30 + 5 * np.arange(30, dtype=np.float64)

    assert "nothing is seen to fall" in reason(lower, lower - TALL)


def test_a_throw_upwards_is_no_fall() -> None:
    up = 150 - 60 + 0.3 * (np.arange(40, dtype=np.float64) - 20) ** 2
    lower, upper = up[:22], up[:22] - TALL

    assert isinstance(fallen(lower, upper, ROWS), Unclear)


def test_noise_is_no_fall() -> None:
    chance = np.random.default_rng(3)
    taken = 0
    for _ in range(200):
        upper, lower = np.sort(chance.uniform(0, ROWS, (2, 30)), axis=0)
        taken += isinstance(fallen(lower, upper, ROWS), Fallen)

    assert taken <= 2


def test_nothing_at_all_is_no_fall() -> None:
    nothing = np.full(30, np.nan)

    assert "nothing is seen to fall" in reason(nothing, nothing)


def test_a_fall_of_a_few_frames_is_left_to_the_eye() -> None:
    fall = fallen(*edges(16, 0.4, 8, 30, seed=2), ROWS)

    assert isinstance(fall, Unclear)
