"""What the flash check finds in the excerpts, and in what words that is told: an aid, no more."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from av.video.reformatter import ColorRange, Colorspace, Interpolation, VideoReformatter
from msgspec import Struct

from retime.check.flash_blocks import CELLS, blocks_of
from retime.check.flash_limits import edges_apart
from retime.check.flashes import FlashMeter

if TYPE_CHECKING:
    from collections.abc import Sequence

    from av.video.frame import VideoFrame

    from retime.check.flash_blocks import Codes
    from retime.film.speed import Speed
    from retime.light.format import PictureFormat

__all__ = ["HIGH_RANGE", "Flashing", "blocks_in", "flashes_in", "flashing_of", "not_run"]

HIGH_RANGE = frozenset({16, 18})
"""PQ and HLG, of whose limits the check knows nothing: ITU-T H.273, TransferCharacteristics."""

_CAUTION = (
    "This is an aid, and no certificate of safety: broadcasters and local rules decide. Flashing "
    "pictures can bring on seizures in people with photosensitive epilepsy, some of whom do not "
    "know that they have it."
)


class Flashing(Struct, frozen=True, kw_only=True):
    """Whether too many flashes were found, None where nothing was looked at, and it in words."""

    found: bool | None
    said: str


def blocks_in(frame: VideoFrame) -> Codes:
    """Return a small picture as the flash check looks at it."""
    cells = VideoReformatter().reformat(
        frame,
        width=CELLS[0],
        height=CELLS[1],
        format="rgb24",
        src_colorspace=Colorspace.ITU601,
        src_color_range=ColorRange.JPEG,
        interpolation=Interpolation.AREA,
    )
    return blocks_of(cells.to_ndarray().astype(np.uint8, copy=False))


def flashes_in(blocks: Sequence[Codes], picture: PictureFormat, fastest: Speed) -> bool:
    """Tell whether an excerpt has too many flashes at a speed, by any of the published limits."""
    aspect = _aspect(picture)
    meter = FlashMeter(aspect, edges_apart(None))
    for number, codes in enumerate(blocks):
        meter.see(codes, number / fastest.fps)
    return not meter.report("", len(blocks) / fastest.fps).passes


def _aspect(picture: PictureFormat) -> Fraction:
    return Fraction(picture.width, picture.height) * (picture.sample_aspect or 1)


def flashing_of(failing: Sequence[str], looked_at: int, fastest: Speed) -> Flashing:
    """Return what was found in so many excerpts; ``failing`` are the titles of those that fail."""
    said = _number(fastest.fps)
    if failing:
        where = "; ".join(failing)
        text = f"More flashes than the published limits allow at {said} frames a second: {where}."
        return Flashing(found=True, said=f"{text} {_CAUTION}")
    those = f"in the {looked_at} excerpts" if looked_at > 1 else "in the excerpt"
    text = f"No more flashes than the published limits allow were found {those} at {said} frames "
    text += "a second; the rest of the film was not looked at."
    return Flashing(found=False, said=f"{text} {_CAUTION}")


def not_run(why: str) -> Flashing:
    """Return that nothing was looked at, and why."""
    return Flashing(found=None, said=f"The flash check was not run: {why}. {_CAUTION}")


def _number(fps: Fraction) -> str:
    return str(fps) if fps.denominator == 1 else f"{float(fps):.2f}"
