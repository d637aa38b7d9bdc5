"""Pictures in which nothing has a period: none is told."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from figures import WORN, filmed, planes

from retime.light.raster import Rectangle
from retime.pace.box import Course
from retime.pace.falling import TALL, edges_of
from retime.pace.pictures import small_pictures
from retime.pace.views import views_of
from retime.signal.fall import fallen
from retime.signal.period import Unclear, find_period

if TYPE_CHECKING:
    from numpy.typing import NDArray

RUNS = 40
FRAMES, ROWS, COLUMNS = 36, 36, 48
BOX = Rectangle(left=14, top=6, width=20, height=24)
COURSE = Course(first=BOX, last=BOX, frames=FRAMES)


def refused(frames: NDArray[np.float32]) -> bool:
    pictures = small_pictures(lambda: iter(planes(frames)), COURSE)
    return isinstance(find_period(views_of(pictures).every), Unclear)


def test_white_noise_has_no_period() -> None:
    chance = np.random.default_rng(1)
    noise = (chance.random((FRAMES, ROWS, COLUMNS), np.float32) for _ in range(RUNS))

    assert sum(map(refused, noise)) >= RUNS - 1


def test_a_still_picture_on_worn_film_has_no_period() -> None:
    """Grain, flicker, weave and dirt are all that changes."""
    chance = np.random.default_rng(2)
    answers = []
    for _ in range(RUNS):
        still = np.kron(chance.uniform(0.1, 0.9, (6, 8)), np.ones((6, 6))).astype(np.float32)
        answers.append(refused(filmed(np.stack([still] * FRAMES), WORN, chance)))

    assert sum(answers) >= RUNS - 1


def test_a_still_picture_without_any_grain_has_no_period() -> None:
    still = np.kron(np.random.default_rng(3).random((6, 8)), np.ones((6, 6))).astype(np.float32)

    assert refused(np.stack([still] * FRAMES))
    assert refused(np.zeros((FRAMES, ROWS, COLUMNS), np.float32))


def test_neither_noise_nor_a_still_picture_falls() -> None:
    chance = np.random.default_rng(4)
    still = np.kron(chance.uniform(0.1, 0.9, (6, 8)), np.ones((6, 6))).astype(np.float32)
    answers = []
    for run in range(RUNS):
        noise = chance.random((FRAMES, ROWS, COLUMNS), np.float32)
        frames = noise if run % 2 else filmed(np.stack([still] * FRAMES), WORN, chance)
        pictures = small_pictures(lambda frames=frames: iter(planes(frames)), COURSE, TALL)  # type: ignore[misc]
        answers.append(fallen(*edges_of(pictures), pictures.frames.shape[1]))

    assert sum(isinstance(one, Unclear) for one in answers) >= RUNS - 1
