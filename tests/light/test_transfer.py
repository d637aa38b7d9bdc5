"""The curves are the published ones, go on beyond black and white, and come back."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from retime.light.curves import decode, encode
from retime.light.transfer import Transfer, from_tag

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

BEYOND = np.linspace(-0.25, 1.5, 3001)
"""Signals that no range of codes passes."""


@pytest.mark.parametrize(
    ("transfer", "signal", "light"),
    [
        # Rec. ITU-R BT.1886, annex 1, with a black of no light, as colour-science 0.4.7 has it.
        (Transfer.BT1886, 0.25, 0.0358968236),
        (Transfer.BT1886, 0.5, 0.1894645708),
        (Transfer.BT1886, 0.75, 0.5013569413),
        (Transfer.BT1886, 0.4894370896, 0.18),
        (Transfer.BT1886, 0.7491535384, 0.5),
        # IEC 61966-2-1, as colour-science 0.4.7 has it.
        (Transfer.SRGB, 0.04045, 0.0031308),
        (Transfer.SRGB, 0.25, 0.0508760882),
        (Transfer.SRGB, 0.5, 0.2140411405),
        (Transfer.SRGB, 0.75, 0.522521554),
        (Transfer.SRGB, 0.4613561295, 0.18),
        (Transfer.SRGB, 128 / 255, 0.2158605),
        (Transfer.SRGB, 186 / 255, 0.4910208),
        (Transfer.SRGB, 188 / 255, 0.5028865),
        # Kodak, "Conversion of 10-bit log film data to 8-bit linear or video data", in the form
        # of Sony Imageworks' 2012 notes, as colour-science 0.4.7 has it.
        (Transfer.LOG, 0, -0.005650819),
        (Transfer.LOG, 95 / 1023, 0),
        (Transfer.LOG, 179.73 / 1023, 0.01),
        (Transfer.LOG, 445 / 1023, 0.149303712),
        (Transfer.LOG, 470 / 1023, 0.183194531),
        (Transfer.LOG, 467.84 / 1023, 0.18),
        (Transfer.LOG, 671.43 / 1023, 0.9),
        (Transfer.LOG, 685 / 1023, 1),
        (Transfer.LOG, 1, 13.5216946),
        (Transfer.LINEAR, 0.3, 0.3),
    ],
)
def test_a_curve_meets_its_published_figures_both_ways(
    transfer: Transfer, signal: float, light: float
) -> None:
    assert light == pytest.approx(float(decode(transfer, signal)), abs=2e-5, rel=1e-5)
    assert signal == pytest.approx(float(encode(transfer, light)), abs=1e-5)


@pytest.mark.parametrize("transfer", [Transfer.BT1886, Transfer.SRGB, Transfer.LINEAR])
def test_black_is_no_light_and_white_is_1(transfer: Transfer) -> None:
    assert [0, 1] == decode(transfer, [0, 1]).tolist()
    assert [0, 1] == pytest.approx(encode(transfer, [0, 1]))


def test_log_white_has_the_exposure_of_1_18_densities_above_black() -> None:
    """Kodak's conversion paper: 590 codes of 0.002, through a gamma of 0.6, are a factor of 92.6.

    The light counted is less than the exposure by that of black, which the far end shows.
    """
    none = float(decode(Transfer.LOG, -100))
    exposures = decode(Transfer.LOG, [685 / 1023, 95 / 1023]) - none

    assert 10 ** (1.18 / 0.6) == pytest.approx(exposures[0] / exposures[1])
    assert 92.6 == pytest.approx(exposures[0] / exposures[1], abs=0.05)


@pytest.mark.parametrize(
    ("transfer", "black", "white", "mean"),
    [
        # Exact arithmetic from the published curves.
        (Transfer.BT1886, 16, 235, 180.06),
        (Transfer.BT1886, 64, 940, 720.26),
        (Transfer.SRGB, 0, 255, 187.5),
    ],
)
def test_half_black_half_white_is_far_above_the_middle_of_codes(
    transfer: Transfer, black: int, white: int, mean: float
) -> None:
    half = decode(transfer, [0, 1]).mean()
    code = black + (white - black) * float(encode(transfer, half))

    assert mean == pytest.approx(code, abs=0.02)


@pytest.mark.parametrize("transfer", Transfer)
def test_signals_below_black_and_above_white_come_back_in_their_order(transfer: Transfer) -> None:
    light = decode(transfer, BEYOND)

    assert (np.diff(light) > 0).all()
    assert pytest.approx(encode(transfer, light), abs=1e-7) == BEYOND


@pytest.mark.parametrize("transfer", [Transfer.BT1886, Transfer.SRGB])
def test_display_curves_go_on_below_black_as_above_it_with_the_sign_changed(
    transfer: Transfer,
) -> None:
    assert (-decode(transfer, BEYOND)).tolist() == decode(transfer, -BEYOND).tolist()


def peer(transfer: Transfer) -> tuple[Callable[..., Any], Callable[..., Any]]:
    """Return colour-science's two functions for a curve: to light and to signal."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it tells on import what else it could do with more
        from colour import models  # noqa: PLC0415 - it takes a second
    functions: dict[Transfer, tuple[Callable[..., Any], Callable[..., Any]]] = {
        Transfer.BT1886: (models.eotf_BT1886, models.eotf_inverse_BT1886),
        Transfer.SRGB: (models.eotf_sRGB, models.eotf_inverse_sRGB),
        Transfer.LOG: (models.log_decoding_Cineon, models.log_encoding_Cineon),
    }
    return functions[transfer]


@pytest.mark.parametrize(
    ("transfer", "signals"),
    [
        (Transfer.BT1886, BEYOND[BEYOND >= 0]),  # a display's black is cut off there
        (Transfer.SRGB, BEYOND[BEYOND >= -0.04]),  # the straight piece goes on there
        (Transfer.LOG, BEYOND),
    ],
)
def test_colour_science_has_the_same_curves(
    transfer: Transfer, signals: NDArray[np.float64]
) -> None:
    to_light, to_signal = peer(transfer)
    light = to_light(signals)

    assert pytest.approx(light, rel=1e-9, abs=1e-12) == decode(transfer, signals)
    assert pytest.approx(to_signal(light), abs=1e-7) == encode(transfer, light)


def test_tags_mean_curves_as_h_273_numbers_them() -> None:
    """Rec. ITU-T H.273, table 3: 9 and 10 are logarithms of 100:1 and more, not of density."""
    curves = {1: "bt1886", 6: "bt1886", 8: "linear", 13: "srgb", 14: "bt1886", 15: "bt1886"}

    assert curves == {code: from_tag(code) for code in range(256) if from_tag(code) is not None}
