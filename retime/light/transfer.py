"""The curves between code values and light, by name; ``retime.light.curves`` has the figures."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Transfer", "from_tag"]


class Transfer(StrEnum):
    """How a picture's codes stand for light.

    ``log`` is the printing-density form: 0.002 of density a code of 10 bits, a negative's gamma
    of 0.6, black at code 95 and white at 685.
    """

    BT1886 = "bt1886"
    SRGB = "srgb"
    LINEAR = "linear"
    LOG = "log"


# Rec. ITU-T H.273, TransferCharacteristics: the curves of BT.709, BT.601 and BT.2020 (10 and 12
# bits), which are shown by BT.1886; sRGB; linear. Codes 9 and 10 are logarithms of other forms
# than printing density, 2 is "unspecified".
_BY_TAG = {
    1: Transfer.BT1886,
    6: Transfer.BT1886,
    14: Transfer.BT1886,
    15: Transfer.BT1886,
    13: Transfer.SRGB,
    8: Transfer.LINEAR,
}


def from_tag(code: int) -> Transfer | None:
    """Return the curve that a file's tag (ITU-T H.273, TransferCharacteristics) means.

    None where the tag says nothing, or names a curve that is none of ours: the map has to say.
    """
    return _BY_TAG.get(code)
