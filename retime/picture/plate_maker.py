"""Makes plates: stills scaled into the picture area of a deliverable's raster, black all around.

Scaling is that of ``retime.picture.fit``, by the still's own codes. Where these are not the
deliverable's too, they are turned into them at 16 bits and in double precision, once for each
still: FFmpeg's scaler misses white and grey by a code here and there, and dithers.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from av.video.frame import VideoFrame
from msgspec.structs import replace

from retime.light.codes import chroma_scale, luma_scale
from retime.light.raster import Fitting, Rectangle
from retime.picture.convert import Converter
from retime.picture.fit import Fitter
from retime.picture.fitting import planar_format
from retime.picture.formats import PALETTE, Family, layout_of, planar_name
from retime.picture.plates import check_plate, keeps_codes, place_in, understood
from retime.picture.ranges import is_narrow
from retime.picture.recoder import Recoder
from retime.picture.recolouring import recolouring
from retime.picture.samples import SampleForm, sample_form, samples

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.light.format import PictureFormat
    from retime.picture.formats import PixelLayout
    from retime.picture.samples import Samples

__all__ = ["PlateMaker"]

_BYTE, _DEEPEST = 8, 16
_BLOCK = 1 << 18  # luma samples that are turned at a time


class PlateMaker:
    """Makes plates for one deliverable, in one area of its raster."""

    def __init__(self, target: PictureFormat, area: Rectangle) -> None:
        """Prepare for plates in ``area``, which lies on whole chroma samples of ``target``.

        Raises NotationError for a deliverable of which no plates are made.
        """
        self._target, self._area = target, area
        self._planar = planar_format(target)
        self._layout = layout_of(self._planar.pixel_format)
        self._form = _form(self._planar.pixel_format)
        self._finish = Converter(self._planar, target)

    def make(self, frame: VideoFrame, source: PictureFormat) -> VideoFrame:
        """Return the plate of a still, a picture of the deliverable's format.

        The still is scaled so that all of it is seen, its aspect kept, in the middle of the area;
        one of that raster comes in unscaled. Alpha, which is taken for straight, is laid over black
        by codes, as is common practice. What the still leaves unsaid of its colours is taken as
        the deliverable's. Where both tell transfer or primaries and these differ, codes are turned
        into light, the light into that of the other primaries, and colours that these have not are
        cut off. Raises NotationError where ``check_plate`` does.
        """
        check_plate(source, self._target)
        still = understood(source, self._target)
        flat, still = _flattened(frame, still)
        placed = place_in(self._area, still, self._target)
        made = VideoFrame(self._target.width, self._target.height, self._planar.pixel_format)
        planes = [samples(plane, self._form) for plane in made.planes]
        for place, plane in enumerate(planes):
            plane[:] = self._black(place)
        inside = [self._inside(plane, placed, place) for place, plane in enumerate(planes)]
        if keeps_codes(still, self._planar):
            fitted = _fitted(flat, still, self._planar.pixel_format, placed)
            for target, source_plane in zip(inside, fitted, strict=True):
                target[:] = source_plane
        else:
            deep = planar_name(layout_of(still.pixel_format).family, _DEEPEST)
            fitted = _fitted(flat, still, deep, placed)
            self._recode(fitted, replace(still, pixel_format=deep), inside)
        return self._finish.convert(made)

    def _black(self, place: int) -> int:
        narrow = is_narrow(self._planar)
        if self._layout.family is Family.YUV and place:
            return chroma_scale(self._layout.bits, narrow=narrow).zero
        return luma_scale(self._layout.bits, narrow=narrow).zero

    def _inside(self, plane: Samples, placed: Rectangle, place: int) -> Samples:
        """Return the part of a plane that a still is painted into."""
        chroma = self._layout.family is Family.YUV and place
        across, down = (self._layout.across, self._layout.down) if chroma else (1, 1)
        left, top = placed.left // across, placed.top // down
        right, bottom = left + -(-placed.width // across), top + -(-placed.height // down)
        return plane[top:bottom, left:right]

    def _recode(
        self, fitted: Sequence[Samples], still: PictureFormat, made: Sequence[Samples]
    ) -> None:
        """Write the codes of a still of 16 bits as those of the deliverable."""
        recoder = Recoder(still, self._planar, recolouring(still, self._target))
        for rows in _blocks(fitted[0], self._layout.down):
            under = slice(rows.start // self._layout.down, -(-rows.stop // self._layout.down))
            codes = recoder.codes([plane[rows] for plane in fitted])
            for place, (plane, one) in enumerate(zip(made, codes, strict=True)):
                chroma = self._layout.family is Family.YUV and place
                plane[under if chroma else rows] = one


def _flattened(frame: VideoFrame, still: PictureFormat) -> tuple[VideoFrame, PictureFormat]:
    """Return a still of a plane a component, its alpha laid over black, and its format."""
    if still.pixel_format == PALETTE:
        frame, still = frame.reformat(format="rgba"), replace(still, pixel_format="rgba")
    layout = layout_of(still.pixel_format)
    if not layout.alpha:
        planar = planar_format(still)
        return Converter(still, planar).convert(frame), planar
    made = replace(still, pixel_format=planar_name(layout.family, _DEEPEST))
    flat = VideoFrame(frame.width, frame.height, made.pixel_format)
    *colours, alpha = _with_alpha(frame, layout)
    narrow = is_narrow(still)
    was, is_to_be = luma_scale(layout.bits, narrow=narrow), luma_scale(_DEEPEST, narrow=narrow)
    for colour, plane in zip(colours, flat.planes, strict=True):
        written = samples(plane, _form(made.pixel_format))
        for rows in _blocks(colour):
            seen = alpha[rows] / ((1 << layout.bits) - 1)
            codes = is_to_be.codes(was.signals(colour[rows].astype(np.int32)) * seen)
            written[rows] = codes.clip(0, (1 << _DEEPEST) - 1)
    return flat, made


def _with_alpha(frame: VideoFrame, layout: PixelLayout) -> Iterator[Samples]:
    """Yield the components of grey, or green, blue and red, and then alpha."""
    suffix = "" if layout.bits <= _BYTE else f"{layout.bits}le"
    kind = np.dtype(np.uint8 if layout.bits <= _BYTE else "<u2")
    if layout.family is Family.GREY:
        both = frame.reformat(format=f"ya{suffix or _BYTE}")
        pairs = samples(both.planes[0], SampleForm(kind=kind, per_pixel=2))
        yield from (pairs[:, 0::2], pairs[:, 1::2])
        return
    apart = frame.reformat(format=f"gbrap{suffix}")
    for plane in apart.planes:
        yield samples(plane, SampleForm(kind=kind, per_pixel=1))


def _fitted(
    frame: VideoFrame, still: PictureFormat, pixel_format: str, placed: Rectangle
) -> list[Samples]:
    """Return the planes of a still in another raster and, it may be, depth and sampling."""
    made = replace(still, pixel_format=pixel_format, width=placed.width, height=placed.height)
    whole, all_of_it = (
        Rectangle(left=0, top=0, width=one.width, height=one.height) for one in (still, made)
    )
    fitted = Fitter(still, made, Fitting(taken=whole, placed=all_of_it)).fit(frame)
    return [samples(plane, _form(pixel_format)) for plane in fitted.planes]


def _form(pixel_format: str) -> SampleForm:
    form = sample_form(pixel_format)
    if form is None:
        raise TypeError(pixel_format)
    return form


def _blocks(plane: Samples, every: int = 1) -> Iterator[slice]:
    """Yield some rows of a plane after others, beginning at multiples of ``every``."""
    height, width = plane.shape
    rows = -(-_BLOCK // (width * every)) * every
    for first in range(0, height, rows):
        yield slice(first, min(first + rows, height))
