"""Pictures to be looked at: small, of square pixels, in the colours that a JPEG file stands for.

JPEG files are Y'CbCr of full range by the matrix of BT.601: JFIF (Rec. ITU-T T.871). Delivered
excerpts are of narrow range, which every browser shows, by the same matrix, and are tagged so.
"""

from __future__ import annotations

import threading
from fractions import Fraction
from typing import TYPE_CHECKING

import av
import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Colorspace, Interpolation, VideoReformatter
from msgspec.structs import replace

from retime.errors import NotationError, ScanError
from retime.film.rounding import floor_of
from retime.light.codes import chroma_scale, luma_scale
from retime.light.format import PictureFormat
from retime.light.raster import Fit
from retime.media.writing import writing
from retime.picture.convert import Converter
from retime.picture.fitting import planar_format
from retime.picture.formats import PALETTE, Family, layout_of, planar_name
from retime.picture.framer import Framer
from retime.picture.framing import framed_format
from retime.picture.ranges import is_narrow
from retime.picture.samples import sample_form, samples

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from av.video.codeccontext import VideoCodecContext
    from numpy.typing import NDArray

    from retime.edition.scans import ReelScan
    from retime.light.codes import CodeScale

    Coded = NDArray[np.uint8]

__all__ = ["QUALITY", "JpegWriter", "Shrinker", "delivered_format", "narrowed", "shown_size"]

QUALITY = 3
"""The quantiser of FFmpeg's JPEG encoder, 2 being its finest and 31 its coarsest."""

_BT709, _UNSPECIFIED, _BT601 = 1, 2, 6  # Rec. ITU-T H.273
_NARROW, _FULL = 1, 2  # FFmpeg's codes for the range
_STANDARD_LINES = 576
_LEAST, _MOST = 16, 4096
_GREY = 128
_BITS = 8
_EXACT = Interpolation.BICUBIC | Interpolation.ACCURATE_RND | Interpolation.FULL_CHR_H_INT


def _table(bits: int, was: CodeScale, is_to_be: CodeScale) -> Coded:
    """Return the code of 8 bits for each code of ``bits``, rounded half up."""
    codes = is_to_be.codes(was.signals(np.arange(1 << bits)))
    return codes.clip(0, (1 << _BITS) - 1).astype(np.uint8)


_LUMA, _CHROMA = (
    _table(_BITS, scale(_BITS, narrow=False), scale(_BITS, narrow=True))
    for scale in (luma_scale, chroma_scale)
)


def shown_size(picture: PictureFormat, width: int) -> tuple[int, int]:
    """Return the width and height, both even, at which pictures are shown with square pixels.

    They are as wide as asked for, but never larger than the scan, which is not made better by it.
    """
    aspect = Fraction(picture.width, picture.height) * (picture.sample_aspect or 1)
    across = Fraction(min(width, max(picture.width, floor_of(picture.height * aspect))))
    return _even(across), _even(across / aspect)


def _even(side: Fraction) -> int:
    return min(max(2 * round(side / 2), _LEAST), _MOST)


class Shrinker:
    """Makes a reel's pictures small: 4:2:0 of 8 bits, full range, BT.601, square pixels."""

    def __init__(self, scan: ReelScan, size: tuple[int, int]) -> None:
        """Prepare the way; raises ScanError for pictures that cannot be brought there."""
        if scan.facts is None or scan.picture is None:
            raise TypeError(f"reel {scan.reel.name} has no scan")
        self.made = PictureFormat(
            width=size[0],
            height=size[1],
            pixel_format="yuv420p",
            sample_aspect=Fraction(1),
            matrix=_BT601,
            range=_FULL,
            fit=Fit.FILL,
        )
        try:
            self._steps = self._way(scan, scan.facts.picture)
        except NotationError as error:
            raise ScanError(scan.path, error.text) from error

    def _way(
        self, scan: ReelScan, picture: PictureFormat
    ) -> list[Callable[[VideoFrame], VideoFrame]]:
        source = _understood(picture)
        steps: list[Callable[[VideoFrame], VideoFrame]] = []
        if scan.reel.framing is not None:
            steps.append(Framer(source, scan.reel.framing).frame)
            source = framed_format(source, scan.reel.framing)
        layout = layout_of(source.pixel_format)
        if source.pixel_format == PALETTE or layout.family is Family.XYZ:
            return [*steps, self._by_scaler]
        if layout.family is Family.GREY:
            return [*steps, *self._from_grey(source)]
        return [*steps, Converter(source, self.made).convert]

    def _by_scaler(self, frame: VideoFrame) -> VideoFrame:
        """Leave all of it to FFmpeg's scaler, as the house scales no palettes and no XYZ."""
        scaled = VideoReformatter().reformat(
            frame,
            width=self.made.width,
            height=self.made.height,
            format="rgb24",
            interpolation=_EXACT,
        )
        return VideoReformatter().reformat(
            scaled,
            format="yuv420p",
            dst_colorspace=Colorspace.ITU601,
            dst_color_range=ColorRange.JPEG,
            interpolation=_EXACT,
        )

    def _from_grey(self, source: PictureFormat) -> list[Callable[[VideoFrame], VideoFrame]]:
        """Return what scales grey in its own depth, and looks its codes up in a table."""
        planar = planar_format(source)
        layout = layout_of(planar.pixel_format)
        small = replace(
            self.made,
            pixel_format=planar_name(Family.GREY, layout.bits),
            matrix=source.matrix,
            range=source.range,
        )
        bits = layout_of(small.pixel_format).bits
        full = luma_scale(_BITS, narrow=False)
        table = _table(bits, luma_scale(bits, narrow=is_narrow(source)), full)
        form = sample_form(small.pixel_format)
        if form is None:
            raise TypeError(small.pixel_format)

        def looked_up(frame: VideoFrame) -> VideoFrame:
            made = VideoFrame(frame.width, frame.height, "yuv420p")
            luma, *chroma = (np.frombuffer(memoryview(one), np.uint8) for one in made.planes)
            lines = luma.reshape(made.planes[0].height, made.planes[0].line_size)
            lines[:, : frame.width] = table[samples(frame.planes[0], form)]
            for plane in chroma:
                plane[:] = _GREY
            return made

        return [Converter(source, small).convert, looked_up]

    def shrink(self, frame: VideoFrame) -> VideoFrame:
        """Return a scan's picture as it is shown."""
        for step in self._steps:
            frame = step(frame)
        return frame


def _understood(picture: PictureFormat) -> PictureFormat:
    """Return a scan's format with what it leaves unsaid taken as is common practice.

    Y'CbCr of more than 576 lines is of BT.709, else of BT.601, and of narrow range.
    """
    matrix = picture.matrix
    if layout_of(picture.pixel_format).family is Family.YUV and matrix == _UNSPECIFIED:
        matrix = _BT709 if picture.height > _STANDARD_LINES else _BT601
    return replace(picture, matrix=matrix, range=_NARROW if is_narrow(picture) else _FULL)


class JpegWriter:
    """Writes pictures as JPEG files; each thread has an encoder of its own."""

    def __init__(self, picture: PictureFormat) -> None:
        """Prepare for pictures of a shrinker's format."""
        self._picture = picture
        self._own = threading.local()

    def write(self, frame: VideoFrame, path: Path) -> None:
        """Write one file; raises OutputError where it cannot be written."""
        encoder = getattr(self._own, "encoder", None)
        if encoder is None:
            encoder = self._own.encoder = _jpeg_encoder(self._picture)
            self._own.count = 0
        self._own.count += 1
        frame.pts, frame.time_base = self._own.count, encoder.time_base
        frame.color_range = _FULL
        with writing(path):
            path.write_bytes(b"".join(bytes(packet) for packet in encoder.encode(frame)))


def _jpeg_encoder(picture: PictureFormat) -> VideoCodecContext:
    context = av.CodecContext.create("mjpeg", "w")
    context.width, context.height, context.pix_fmt = picture.width, picture.height, "yuv420p"
    context.time_base = Fraction(1, 25)
    context.sample_aspect_ratio = Fraction(1)
    context.color_range = _FULL
    context.thread_count = 1
    context.options = {"qmin": str(QUALITY), "qmax": str(QUALITY), "flags": "+bitexact"}
    return context


def delivered_format(size: tuple[int, int]) -> PictureFormat:
    """Return the format of delivered excerpts' pictures, tagged as browsers take JPEG files.

    They take them as sRGB, whose primaries are those of BT.709.
    """
    return PictureFormat(
        width=size[0],
        height=size[1],
        pixel_format="yuv420p",
        sample_aspect=Fraction(1),
        primaries=_BT709,
        transfer=_BT709,
        matrix=_BT601,
        range=_NARROW,
    )


def narrowed(frame: VideoFrame) -> Coded:
    """Return a shrinker's picture in narrow range: luma's rows, then those of both chromas."""
    coded: Coded = frame.to_ndarray(format="yuv420p").astype(np.uint8, copy=False)
    height = frame.height
    np.take(_LUMA, coded[:height], out=coded[:height], mode="clip")
    np.take(_CHROMA, coded[height:], out=coded[height:], mode="clip")
    return coded
