"""The program's names of colours, as codes of Rec. ITU-T H.273."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["NOTHING_SAID", "Colours", "colours_in_words", "colours_named"]

_UNSPECIFIED = 2

_PRIMARIES: Mapping[str, int] = {
    "bt709": 1,
    "bt470m": 4,
    "bt470bg": 5,
    "smpte170m": 6,
    "smpte240m": 7,
    "film": 8,
    "bt2020": 9,
    "smpte428": 10,
    "smpte431": 11,
    "smpte432": 12,
    "ebu3213": 22,
}
_TRANSFERS: Mapping[str, int] = {
    "bt709": 1,
    "bt470m": 4,
    "bt470bg": 5,
    "smpte170m": 6,
    "smpte240m": 7,
    "linear": 8,
    "log100": 9,
    "log316": 10,
    "iec61966-2-4": 11,
    "bt1361e": 12,
    "iec61966-2-1": 13,
    "bt2020-10": 14,
    "bt2020-12": 15,
    "smpte2084": 16,
    "smpte428": 17,
    "arib-std-b67": 18,
}
_MATRICES: Mapping[str, int] = {
    "gbr": 0,
    "bt709": 1,
    "fcc": 4,
    "bt470bg": 5,
    "smpte170m": 6,
    "smpte240m": 7,
    "ycgco": 8,
    "bt2020nc": 9,
    "bt2020c": 10,
    "smpte2085": 11,
    "chroma-derived-nc": 12,
    "chroma-derived-c": 13,
    "ictcp": 14,
}
_RANGES: Mapping[str, int] = {"tv": 1, "pc": 2}


class Colours(Struct, frozen=True, kw_only=True):
    """What is said of colour: codes of H.273, 2 for nothing; ``range`` 0 nothing, 1 narrow, 2 full.

    Names that the program has and H.273 has not count as nothing said.
    """

    range: int = 0
    primaries: int = _UNSPECIFIED
    transfer: int = _UNSPECIFIED
    matrix: int = _UNSPECIFIED


NOTHING_SAID = Colours()


def colours_named(*, span: str, primaries: str, transfer: str, matrix: str) -> Colours:
    """Return what the program's names say; ``span`` is that of the range."""
    return Colours(
        range=_RANGES.get(span, 0),
        primaries=_PRIMARIES.get(primaries, _UNSPECIFIED),
        transfer=_TRANSFERS.get(transfer, _UNSPECIFIED),
        matrix=_MATRICES.get(matrix, _UNSPECIFIED),
    )


def colours_in_words(parts: list[str]) -> Colours:
    """Return what stands in brackets behind a pixel format.

    That is the range, then matrix, primaries and transfer, or one name where all three have it.
    """
    span = next((part for part in parts if part in _RANGES), "")
    matrix = primaries = transfer = ""
    for part in parts:
        names = part.split("/")
        if len(names) == 3:  # noqa: PLR2004 - the three that are named
            matrix, primaries, transfer = names
        elif part in _MATRICES or part in _PRIMARIES or part in _TRANSFERS:
            matrix = primaries = transfer = part
    return colours_named(span=span, primaries=primaries, transfer=transfer, matrix=matrix)
