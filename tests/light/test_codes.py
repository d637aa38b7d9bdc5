"""Black, white and no colour have the codes that the standards give them."""

from __future__ import annotations

import numpy as np
import pytest

from retime.light.codes import chroma_scale, luma_scale, luma_weights


@pytest.mark.parametrize(
    ("bits", "lumas", "chromas"),
    [
        # Rec. ITU-R BT.709-6 for 8 and 10 bits, BT.2020-2 for 12, digital representation.
        (8, (16, 235), (16, 128, 240)),
        (10, (64, 940), (64, 512, 960)),
        (12, (256, 3760), (256, 2048, 3840)),
    ],
)
def test_narrow_range_is_that_of_the_television_standards(
    bits: int, lumas: tuple[int, ...], chromas: tuple[int, ...]
) -> None:
    luma, chroma = luma_scale(bits, narrow=True), chroma_scale(bits, narrow=True)

    assert [0, 1] == luma.signals(np.array(lumas)).tolist()
    assert [-0.5, 0, 0.5] == chroma.signals(np.array(chromas)).tolist()


@pytest.mark.parametrize("bits", [8, 10, 16])
def test_full_range_goes_from_the_first_code_to_the_last(bits: int) -> None:
    """Rec. ITU-T H.273, from memory: no colour is at half of all codes, not of the last."""
    luma, chroma = luma_scale(bits, narrow=False), chroma_scale(bits, narrow=False)
    top = (1 << bits) - 1

    assert [0, 1] == luma.signals(np.array([0, top])).tolist()
    assert 0 == chroma.signals(np.array(1 << (bits - 1)))
    assert 0.5 - 0.5 / top == pytest.approx(float(chroma.signals(np.array(top))))


def test_codes_are_rounded_half_up() -> None:
    scale = luma_scale(8, narrow=True)

    assert [15, 16, 17, 126] == scale.codes(np.array([-1.01, -0.5, 0.5, 109.5]) / 219).tolist()


@pytest.mark.parametrize(
    ("matrix", "height", "red", "blue"),
    [
        (1, 576, 0.2126, 0.0722),  # Rec. ITU-R BT.709-6
        (5, 1080, 0.299, 0.114),  # Rec. ITU-R BT.601-7
        (6, 1080, 0.299, 0.114),
        (9, 1080, 0.2627, 0.0593),  # Rec. ITU-R BT.2020-2
        (4, 1080, 0.30, 0.11),  # US FCC Title 47, as Rec. ITU-T H.273 has it
        (7, 1080, 0.212, 0.087),  # SMPTE 240M, the same; from memory
        (2, 577, 0.2126, 0.0722),  # unspecified: common practice by the number of lines
        (2, 576, 0.299, 0.114),
    ],
)
def test_luma_is_made_of_what_its_standard_says(
    matrix: int, height: int, red: float, blue: float
) -> None:
    weights = luma_weights(matrix, height)

    assert weights is not None
    assert (red, blue) == (weights.red, weights.blue)
    assert 1 == pytest.approx(sum(weights))


@pytest.mark.parametrize("matrix", [0, 3, 8, 10, 11, 12, 13, 14])
def test_matrices_that_are_more_than_weights_have_none(matrix: int) -> None:
    assert luma_weights(matrix, 1080) is None
