"""Pictures of one raster scaled into another, and black painted beside them.

Whole film frames are scaled, before any fields are woven of them: each is one moment, so its
lines belong together and no scaling of single fields is needed.

Every plane is scaled by itself, as grey of its own depth, by FFmpeg's scaler with a Lanczos kernel
of three lobes. So RGB and grey take no way round by YUV, the levels of both ends stay exact, and
constant pictures stay constant. The kernel's weights are held to within 0.002 of the formula's
inside a picture (FFmpeg leaves out the smallest of them), and nothing shifts. Codes are weighted
as they are, without making light of them: common practice. Chroma is scaled about its own middle,
wherever its samples are sited; where they stand on every other luma sample, colour moves by at
most half a luma sample.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import Interpolation, VideoReformatter

from retime.light.codes import chroma_scale, luma_scale
from retime.light.raster import Rectangle
from retime.picture.black import black_picture
from retime.picture.depth import code_table
from retime.picture.formats import Family, layout_of
from retime.picture.samples import SampleForm, sample_form, samples

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.light.format import PictureFormat
    from retime.light.raster import Fitting
    from retime.picture.formats import PixelLayout
    from retime.picture.samples import Samples

__all__ = ["Fitter"]

_LANCZOS = Interpolation.LANCZOS | Interpolation.ACCURATE_RND | Interpolation.BITEXACT
_NARROW, _FULL = 1, 2  # FFmpeg's codes for the range
_BYTE = 8


class Fitter:
    """Brings pictures of one raster into another."""

    def __init__(self, source: PictureFormat, made: PictureFormat, fitting: Fitting) -> None:
        """Prepare the way from a ``planar_format`` to a ``fitted_format`` of it."""
        self._made = made
        self._forms = _form(source), _form(made)
        black = black_picture(made)
        was, is_to_be = layout_of(source.pixel_format), layout_of(made.pixel_format)
        self._planes = [
            _PlaneFitter(
                taken=_of_plane(fitting.taken, was, place),
                placed=_of_plane(fitting.placed, is_to_be, place),
                black=int(samples(plane, self._forms[1])[0, 0]),
                bits=is_to_be.bits,
                table=_deepened(source, was.bits, is_to_be.bits, colour=_is_chroma(was, place)),
            )
            for place, plane in enumerate(black.planes)
        ]

    def fit(self, frame: VideoFrame) -> VideoFrame:
        """Return a picture in the new raster."""
        made = VideoFrame(self._made.width, self._made.height, self._made.pixel_format)
        was, is_to_be = self._forms
        for one, source, target in zip(self._planes, frame.planes, made.planes, strict=True):
            one.paint(samples(source, was), samples(target, is_to_be))
        return made


class _PlaneFitter:
    """Scales what is taken of one plane into its place in another, black all around."""

    def __init__(
        self,
        *,
        taken: Rectangle,
        placed: Rectangle,
        black: int,
        bits: int,
        table: Samples | None,
    ) -> None:
        self._taken, self._placed, self._black, self._table = taken, placed, black, table
        self._grey = "gray" if bits == _BYTE else f"gray{bits}le"
        self._form = SampleForm(kind=np.dtype(np.uint8 if bits == _BYTE else "<u2"), per_pixel=1)
        self._scaler = VideoReformatter()

    def paint(self, source: Samples, made: Samples) -> None:
        """Write what is taken of a source plane, and the black, into all of ``made``."""
        placed = self._placed
        right, bottom = placed.left + placed.width, placed.top + placed.height
        made[: placed.top], made[bottom:] = self._black, self._black
        lines = made[placed.top : bottom]
        lines[:, : placed.left], lines[:, right:] = self._black, self._black
        scaled = self._scaler.reformat(
            VideoFrame.from_numpy_buffer(self._part(source), format=self._grey),
            width=placed.width,
            height=placed.height,
            format=self._grey,
            interpolation=_LANCZOS,
        )
        lines[:, placed.left : right] = samples(scaled.planes[0], self._form)

    def _part(self, source: Samples) -> Samples:
        """Return what is taken of a plane, in the depth that is made."""
        taken = self._taken
        part = source[taken.top :, taken.left :][: taken.height, : taken.width]
        if self._table is None:
            return part
        # A line to spare: FFmpeg may read some bytes past the end of one.
        deep = np.empty((taken.height + 1, taken.width), self._table.dtype)[:-1]
        return np.take(self._table, part, out=deep, mode="clip")


def _form(picture: PictureFormat) -> SampleForm:
    form = sample_form(picture.pixel_format)
    if form is None:
        raise TypeError(picture.pixel_format)
    return form


def _is_chroma(layout: PixelLayout, place: int) -> bool:
    return layout.family is Family.YUV and place > 0


def _of_plane(part: Rectangle, layout: PixelLayout, place: int) -> Rectangle:
    """Return a part of a raster in the samples of one of its planes."""
    across, down = (layout.across, layout.down) if _is_chroma(layout, place) else (1, 1)
    return Rectangle(
        left=part.left // across,
        top=part.top // down,
        width=-(-part.width // across),
        height=-(-part.height // down),
    )


def _deepened(
    source: PictureFormat, bits: int, to_bits: int, *, colour: bool
) -> NDArray[np.unsignedinteger] | None:
    """Return the code of ``to_bits`` for each code of ``bits``; None where they are the same."""
    if bits == to_bits:
        return None
    yuv = layout_of(source.pixel_format).family is Family.YUV
    narrow = source.range != _FULL if yuv else source.range == _NARROW
    scale = chroma_scale if colour else luma_scale
    return code_table(bits, scale(bits, narrow=narrow), to_bits, scale(to_bits, narrow=narrow))
