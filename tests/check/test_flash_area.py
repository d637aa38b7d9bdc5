"""How much of a picture has to flash: a quarter of it, or of a field of 10 degrees anywhere in it.

Sources: WCAG 2.2 (W3C 2023), "general flash and red flash thresholds": no more than 25 % of any 10
degree visual field, for which a rectangle of 341 x 256 pixels anywhere on a screen of 1024 x 768 is
a good estimate; squares below 0.1 degree that balance are excepted. Rec. ITU-R BT.1702-3 (2023):
more than 25 % of the screen.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest
from flickering import BLACK, answer, metered

from retime.check.flash_area import Area
from retime.check.flash_blocks import CELLS, COLUMNS, ROWS, blocks_of
from retime.check.flash_limits import Kind, Standard

if TYPE_CHECKING:
    from numpy.typing import NDArray

SECONDS = 2


def fails(mask: NDArray[np.bool_], *, aspect: Fraction = Fraction(4, 3)) -> list[bool]:
    """Return whether blocks that flash six times a second fail by WCAG, and by BT.1702."""
    lit = np.where(mask[..., np.newaxis], np.uint8(255), np.uint8(0)).repeat(3, axis=2)
    film = [lit if number % 2 else BLACK for number in range(12 * SECONDS)]
    report = metered(film, 12, aspect=aspect)
    return [not answer(report, Kind.GENERAL, standard).passes for standard in Standard]


def rectangle(left: int, top: int, width: int, height: int) -> NDArray[np.bool_]:
    """Return a mask of blocks."""
    mask = np.zeros((ROWS, COLUMNS), np.bool_)
    mask[top : top + height, left : left + width] = True
    return mask


def test_a_quarter_of_the_picture_passes_by_bt1702_and_a_block_more_fails() -> None:
    quarter = rectangle(0, 0, COLUMNS // 2, ROWS // 2)
    more = quarter.copy()
    more[ROWS - 1, COLUMNS - 1] = True  # "combined": it need not adjoin

    assert not fails(quarter)[1]
    assert fails(more)[1]


def test_the_field_is_341_by_256_pixels_of_1024_by_768() -> None:
    field = Area.field(Fraction(4, 3))

    assert 341 == pytest.approx(field.width * 1024 / COLUMNS, abs=1024 / COLUMNS / 2)
    assert 256 == pytest.approx(field.height * 768 / ROWS, abs=768 / ROWS / 2)


@pytest.mark.parametrize(
    ("aspect", "size"),
    [
        # What 341 x 256 pixels are of 1024 x 576, of 768 x 768, and of 614.4 x 768.
        (Fraction(16, 9), (341 / 1024, 256 / 576)),
        (Fraction(1), (341 / 768, 256 / 768)),
        (Fraction(4, 5), (341 / 614.4, 256 / 768)),
    ],
)
def test_a_picture_of_another_shape_is_as_large_as_that_screen_lets_it_be(
    aspect: Fraction, size: tuple[float, float]
) -> None:
    field = Area.field(aspect)

    assert size == pytest.approx((field.width / COLUMNS, field.height / ROWS), abs=0.5 / ROWS)


@pytest.mark.parametrize(("left", "top"), [(0, 0), (41, 30), (80, 60)])
def test_a_quarter_of_a_field_passes_by_wcag_wherever_it_is_and_a_block_more_fails(
    left: int, top: int
) -> None:
    # Half a field each way: 170.7 x 128 pixels of 1024 x 768, which are 16 x 12 blocks.
    quarter = rectangle(left, top, 16, 12)
    more = quarter.copy()
    more[top - 3 if top else 13, left] = True

    assert [False, False] == fails(quarter)
    assert [True, False] == fails(more)


def test_what_is_in_no_one_field_together_is_not_added_up() -> None:
    # Two areas of 15 % of a field each, near to each other and then a field apart.
    near = rectangle(0, 0, 10, 12) | rectangle(20, 0, 10, 12)
    apart = rectangle(0, 0, 10, 12) | rectangle(42, 0, 10, 12)

    assert [True, False] == fails(near)
    assert [False, False] == fails(apart)


def test_halves_that_flash_in_turn_are_counted_each_by_itself() -> None:
    # Four changes a second of either half are two flashes; eight are four.
    left = rectangle(0, 0, COLUMNS // 2, ROWS)[..., np.newaxis].repeat(3, axis=2)
    one, other = (np.where(side, np.uint8(255), np.uint8(0)) for side in (left, ~left))
    for frames, too_many in ((6, False), (3, True)):
        film = [one if number // frames % 2 else other for number in range(72)]
        report = metered(film, 24)

        for standard in Standard:
            assert too_many is not answer(report, Kind.GENERAL, standard).passes


def test_the_area_that_is_told_is_that_of_what_has_as_many_flashes() -> None:
    mask = rectangle(0, 0, COLUMNS, 27)  # three eighths of the picture
    lit = np.where(mask[..., np.newaxis], np.uint8(255), np.uint8(0)).repeat(3, axis=2)
    report = metered([lit if number % 2 else BLACK for number in range(24)], 12)
    worst = answer(report, Kind.GENERAL, Standard.BROADCAST).worst

    assert worst is not None
    assert Fraction(3, 8) == worst.area


def chequered(side: int) -> NDArray[np.bool_]:
    """Return a chequerboard of cells, ``side`` cells to a square's side."""
    across, down = (np.arange(size) // side for size in CELLS)
    return np.asarray((across + down[:, np.newaxis]) % 2 == 0)


def cells_fail(pictures: list[NDArray[np.uint8]]) -> list[bool]:
    """Return whether pictures of cells, 24 a second, fail by WCAG, and by BT.1702."""
    report = metered((blocks_of(picture) for picture in pictures), 24)
    return [not answer(report, Kind.GENERAL, standard).passes for standard in Standard]


def test_a_fine_chequerboard_that_alternates_is_balanced_and_a_coarse_one_is_not() -> None:
    # A cell is 0.078 degrees, as 10 degrees are 341 of 1024 pixels; WCAG excepts below 0.1.
    assert 0.1 > 1024 / CELLS[0] / 341 * 10 > 0.07
    for side, too_many in ((1, False), (8, True)):
        board = chequered(side)[..., np.newaxis].repeat(3, axis=2)
        even, odd = (np.where(squares, np.uint8(255), np.uint8(0)) for squares in (board, ~board))

        assert [too_many] * 2 == cells_fail([odd if number % 2 else even for number in range(48)])


def test_grain_is_no_flash() -> None:
    # WCAG excepts fine balanced noise. Every cell has another code in every picture; 20 codes of
    # deviation at a 384th of the width are more than film's grain has there: common practice.
    noise = np.random.default_rng(1)
    grain = [
        np.clip(noise.normal(120, 20, (CELLS[1], CELLS[0], 1)), 0, 255).astype(np.uint8)
        for _ in range(24)
    ]
    report = metered((blocks_of(picture.repeat(3, axis=2)) for picture in grain), 24)

    assert [None] * 4 == [one.worst for one in report.answers]


def test_a_block_has_the_mean_of_light_and_not_of_codes() -> None:
    # Half black and half white: 0.5 of the light is code 191.0 of 255 by Rec. ITU-R BT.1886.
    half = np.zeros((CELLS[1], CELLS[0], 3), np.uint8)
    half[:, ::2] = 255

    assert 191 == pytest.approx(255 * 0.5 ** (1 / 2.4), abs=0.1)
    assert np.array_equal(blocks_of(half), np.full((ROWS, COLUMNS, 3), 191))


def test_blocks_of_one_code_keep_it() -> None:
    codes = np.arange(256, dtype=np.uint8)
    cells = np.zeros((CELLS[1], CELLS[0], 3), np.uint8)
    cells[:64, :256] = codes.reshape(16, 16, 1).repeat(4, axis=0).repeat(16, axis=1)

    assert np.array_equal(blocks_of(cells)[:16, :64:4, 1], codes.reshape(16, 16))
