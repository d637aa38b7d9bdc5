"""How a picture's codes become those of other curves and other primaries, from published figures.

Only what is to be done is told here; ``retime.picture.recoder`` does it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from msgspec import Struct

from retime.errors import NotationError
from retime.light.transfer import Transfer, from_tag
from retime.picture.formats import Family, layout_of

if TYPE_CHECKING:
    from retime.light.format import PictureFormat

__all__ = ["CHROMATICITIES", "Curve", "Recolouring", "recolouring", "said"]

Curve: TypeAlias = "Transfer | float"
"""A published curve, or the power that a signal is raised to for its light."""

_UNSPECIFIED = 2  # Rec. ITU-T H.273, in all of its tables
_CURVES = 19  # so many codes of TransferCharacteristics
# Rec. ITU-T H.273, TransferCharacteristics: assumed display gammas.
_POWERS = {4: 2.2, 5: 2.8}

CHROMATICITIES: dict[int, tuple[tuple[float, float], ...]] = {
    1: ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060)),
    5: ((0.640, 0.330), (0.290, 0.600), (0.150, 0.060)),
    6: ((0.630, 0.340), (0.310, 0.595), (0.155, 0.070)),
    7: ((0.630, 0.340), (0.310, 0.595), (0.155, 0.070)),
    9: ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046)),
    12: ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060)),
}
"""x and y of red, green and blue by code, from Rec. ITU-T H.273, ColourPrimaries.

All of these have the white D65; primaries with other whites are not turned into others.
"""


class Recolouring(Struct, frozen=True, kw_only=True):
    """How a still's codes become a deliverable's: curves, and primaries where they are to change.

    Primaries are codes of ITU-T H.273, the still's and the deliverable's.
    """

    decoded_by: Curve
    encoded_by: Curve
    primaries: tuple[int, int] | None


def recolouring(source: PictureFormat, target: PictureFormat) -> Recolouring | None:
    """Return how a still's codes become a deliverable's; None where they are to stay.

    They stay where one of both leaves unsaid what would have to be known to change them, and where
    both say the same. Raises NotationError for curves and primaries that are not turned into each
    other.
    """
    primaries = _primaries(source, target)
    if primaries is None and _same_curve(source.transfer, target.transfer):
        return None
    known = said(source.transfer, target.transfer), said(target.transfer, source.transfer)
    if _UNSPECIFIED in known:
        raise NotationError(
            f"the still's colour primaries have code {source.primaries} and the deliverable's "
            f"{target.primaries} (codes of ITU-T H.273), and neither says its transfer",
            "have the still say its transfer (PNG: an sRGB or cICP chunk), or not its primaries",
        )
    decoded_by, encoded_by = (_curve(code) for code in known)
    if decoded_by is None or encoded_by is None:
        raise _not_turned("transfer", *known)
    return Recolouring(decoded_by=decoded_by, encoded_by=encoded_by, primaries=primaries)


def _primaries(source: PictureFormat, target: PictureFormat) -> tuple[int, int] | None:
    """Return the primaries that are to be turned into each other; None where none are."""
    one, other = source.primaries, target.primaries
    if (
        one == other
        or _UNSPECIFIED in {one, other}
        or layout_of(source.pixel_format).family is Family.GREY
    ):
        return None
    if one not in CHROMATICITIES or other not in CHROMATICITIES:
        raise _not_turned("primaries", one, other)
    return None if CHROMATICITIES[one] == CHROMATICITIES[other] else (one, other)


def _same_curve(one: int, other: int) -> bool:
    if one == other or _UNSPECIFIED in {one, other}:
        return True
    return _curve(one) is not None and _curve(one) == _curve(other)


def _curve(transfer: int) -> Curve | None:
    return from_tag(transfer) or _POWERS.get(transfer)


def _not_turned(what: str, one: int, other: int) -> NotationError:
    curves = [code for code in range(_CURVES) if _curve(code) is not None]
    able = CHROMATICITIES if what == "primaries" else curves
    return NotationError(
        f"the still's colour {what} has code {one} and the deliverable's {other} (codes of "
        "ITU-T H.273), and these are not turned into each other",
        f"codes that are: {', '.join(map(str, able))}; bring the still to the film's colours",
    )


def said(code: int, otherwise: int) -> int:
    """Return a code of ITU-T H.273, another where it is unspecified."""
    return otherwise if code == _UNSPECIFIED else code
