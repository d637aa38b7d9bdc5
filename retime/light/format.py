"""What one decoded picture is: its raster, its samples, and what they stand for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.light.raster import Fit

if TYPE_CHECKING:
    from fractions import Fraction

__all__ = ["PictureFormat"]


class PictureFormat(Struct, frozen=True, kw_only=True):
    """What one decoded picture is.

    ``pixel_format`` is FFmpeg's name. ``sample_aspect`` is width over height of one sample,
    None where the file does not say. ``field_order`` is ``progressive``, ``top-first`` or
    ``bottom-first`` by the order of display, or None where the file does not say; where the
    other field is coded first, that is said in brackets. ``primaries``, ``transfer`` and
    ``matrix`` are the codes of ITU-T H.273, 2 meaning unspecified; ``range`` is FFmpeg's code:
    0 unspecified, 1 narrow, 2 full. ``fit`` is how pictures of another raster come into this one,
    and ``active_width`` how many samples of its width they may take, None for all; both are for
    pictures that are to be made, and keep apart those that would otherwise look alike.
    """

    width: int
    height: int
    pixel_format: str
    sample_aspect: Fraction | None = None
    field_order: str | None = None
    primaries: int = 2
    transfer: int = 2
    matrix: int = 2
    range: int = 0
    fit: Fit = Fit.KEEP
    active_width: int | None = None
