"""Small pictures: what each sample covers, and weave and flicker found and taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from retime.light.raster import Rectangle
from retime.pace.box import Area, Course
from retime.pace.pictures import SMALL, small_pictures
from retime.pace.reducing import reduced
from retime.pace.steadying import WHITE, Steadier

if TYPE_CHECKING:
    from numpy.typing import NDArray

BOX = Area(100, 60, 60, 90)
SIZE = (240, 320)


def scene(right: float = 0.0, down: float = 0.0) -> NDArray[np.uint16]:
    """Draw a scene that lies further right and down, by its means over what a sample covers."""
    fine = 4
    chance = np.random.default_rng(6)
    rough = np.kron(chance.uniform(0.15, 0.85, (34, 44)), np.ones((8 * fine, 8 * fine)))
    top, left = (round((8 - by) * fine) for by in (down, right))
    cut = rough[top : top + SIZE[0] * fine, left : left + SIZE[1] * fine]
    means = cut.reshape(SIZE[0], fine, SIZE[1], fine).mean(axis=(1, 3))
    drawn: NDArray[np.uint16] = (means * WHITE).astype(np.uint16)
    return drawn


@pytest.mark.parametrize("shape", [(7, 5), (64, 64), (1, 1)])
def test_a_reduced_picture_keeps_the_mean_of_its_area(shape: tuple[int, int]) -> None:
    plane = np.random.default_rng(1).integers(0, WHITE, (50, 70), np.uint16)
    small = reduced(plane, Area(3, 2, 60, 41), shape)

    assert shape == small.shape
    assert float(small.mean()) == pytest.approx(float(plane[2:43, 3:63].mean()), rel=1e-5)


def test_an_area_between_two_samples_takes_part_of_both() -> None:
    plane = np.array([[0, 100, 200, 300]], np.uint16)

    np.testing.assert_allclose([[25, 125, 225]], reduced(plane, Area(0.25, 0, 3, 1), (1, 3)))


def test_beyond_its_edge_a_picture_goes_on_as_it_ends() -> None:
    plane = np.array([[10, 20], [30, 40]], np.uint16)

    np.testing.assert_allclose([[10, 10, 20]], reduced(plane, Area(-1, -5, 3, 1), (1, 3)))


@pytest.mark.parametrize(("right", "down"), [(0.5, 0.0), (-0.75, 1.25), (1.5, -2.0), (0.25, 0.25)])
def test_weave_is_found_to_a_tenth_of_a_sample(right: float, down: float) -> None:
    lying = Steadier(scene(), BOX).steadiness(scene(right, down), BOX)

    assert lying is not None
    assert (lying.right, lying.down) == pytest.approx((right, down), abs=0.1)


@pytest.mark.parametrize("gain", [0.9, 1.08])
def test_flicker_is_found_and_taken_out(gain: float) -> None:
    plane = (scene() * gain).astype(np.uint16)
    lying = Steadier(scene(), BOX).steadiness(plane, BOX)

    assert lying is not None
    assert lying.gain == pytest.approx(gain, abs=0.01)
    level = lying.levelled((plane / WHITE).astype(np.float32))
    assert np.abs(level - scene() / WHITE).max() < 0.01


def test_what_moves_in_the_box_and_beside_it_does_not_count() -> None:
    plane = scene(0.5, 0.5)
    plane[60:150, 100:160] = 0
    plane[20:50, 200:260] = WHITE  # a tenth of what is left
    lying = Steadier(scene(), BOX).steadiness(plane, BOX)

    assert lying is not None
    assert (lying.right, lying.down) == pytest.approx((0.5, 0.5), abs=0.15)


def test_a_camera_that_turns_is_told_from_weave() -> None:
    course = Course(
        first=Rectangle(left=100, top=60, width=60, height=90),
        last=Rectangle(left=100, top=60, width=60, height=90),
        frames=12,
    )
    wide = np.concatenate([scene(), scene()], axis=1)

    def panned() -> list[NDArray[np.uint16]]:
        return [wide[:, 6 * frame : 6 * frame + SIZE[1]] for frame in range(12)]

    still = small_pictures(lambda: iter([scene()] * 12), course)
    moving = small_pictures(lambda: iter(panned()), course)

    assert still.steady
    assert not moving.steady
    np.testing.assert_allclose(
        moving.frames[5], reduced(panned()[5], BOX, moving.frames.shape[1:]) / WHITE, atol=1e-5
    )


def test_the_small_picture_of_a_box_has_at_most_64_rows_and_columns() -> None:
    """Whatever the scan's size: memory is for the small pictures alone."""
    place = Rectangle(left=0, top=0, width=2048, height=1536)
    course = Course(first=place, last=place, frames=3)
    large = np.zeros((1536, 2048), np.uint16)
    pictures = small_pictures(lambda: iter([large] * 3), course)

    assert (3, 48, 64) == pictures.frames.shape
    assert (48, 64) == pictures.box
    assert (64, 64) == SMALL
    assert np.float32 == pictures.frames.dtype


def test_a_box_that_moves_is_followed_through_the_pictures() -> None:
    frames = []
    for frame in range(11):
        plane = np.full(SIZE, 20_000, np.uint16)
        plane[100:140, 30 + 12 * frame : 50 + 12 * frame] = 60_000
        frames.append(plane)
    course = Course(
        first=Rectangle(left=10, top=90, width=60, height=60),
        last=Rectangle(left=130, top=90, width=60, height=60),
        frames=11,
    )
    pictures = small_pictures(lambda: iter(frames), course)

    for frame, area in zip(pictures.frames, pictures.areas, strict=True):
        seen = reduced(frame, area, pictures.box)
        bright = np.flatnonzero(seen.max(axis=0) > 0.6)
        assert (bright[0], bright[-1]) == pytest.approx((20, 39), abs=1)
