"""Says of frames, and to encoders, how pictures are scanned.

PyAV reads a frame's interlaced flag and writes none, so frames pass through FFmpeg's filter
``setfield``, which changes flags and no sample. What an encoder is told beside that was found by
reading back what it wrote: without it MPEG-2 and ProRes come out bottom field first.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from av.filter import Graph
from av.video.format import VideoFormat

from retime.film.scanning import Scanning
from retime.profile.options import joined

if TYPE_CHECKING:
    from collections.abc import Mapping

    from av.video.frame import VideoFrame

    from retime.light.format import PictureFormat

__all__ = ["FIELD_ORDERS", "FieldMarker", "scanning_options"]

FIELD_ORDERS: dict[Scanning, int] = {
    Scanning.PROGRESSIVE: 1,
    Scanning.TOP_FIRST: 2,
    Scanning.BOTTOM_FIRST: 3,
}
"""FFmpeg's AVFieldOrder, where the field that is shown first is also coded first."""

_MODES = {Scanning.PROGRESSIVE: "prog", Scanning.TOP_FIRST: "tff", Scanning.BOTTOM_FIRST: "bff"}
# What makes an encoder code by fields; FFV1 codes whole frames and says in each how it is scanned.
_BY_FIELDS: dict[str, dict[str, str]] = {
    "ffv1": {},
    "prores_ks": {"flags": "+ildct"},
    "dnxhd": {"flags": "+ildct"},
    "mpeg2video": {"flags": "+ildct+ilme"},
    "libx264": {"flags": "+ildct+ilme"},
}
_X264_ORDERS = {Scanning.TOP_FIRST: "tff=1", Scanning.BOTTOM_FIRST: "bff=1"}


def scanning_options(
    encoder: str, options: Mapping[str, str], scanning: Scanning
) -> dict[str, str]:
    """Return an encoder's options with those that its scanning asks for.

    Raises ValueError for an encoder that cannot say that its pictures are interlaced.
    """
    if not scanning.interlaced:
        return dict(options)
    if encoder not in _BY_FIELDS:
        raise ValueError(f"the encoder {encoder} makes no interlaced pictures")
    order = {"x264-params": _X264_ORDERS[scanning]} if encoder == "libx264" else {}
    return joined(options, _BY_FIELDS[encoder], order)


class FieldMarker:
    """Gives frames of one format the flags of a scanning."""

    def __init__(self, picture: PictureFormat, scanning: Scanning) -> None:
        """Prepare for frames of the format."""
        self._scanning = scanning
        self._graph = Graph()
        source = self._graph.add_buffer(
            width=picture.width,
            height=picture.height,
            format=VideoFormat(picture.pixel_format),
            time_base=Fraction(1),
        )
        marks = self._graph.add("setfield", _MODES[scanning])
        sink = self._graph.add("buffersink")
        source.link_to(marks)
        marks.link_to(sink)
        self._graph.configure()

    def mark(self, frame: VideoFrame) -> VideoFrame:
        """Return the frame with the flags; it shares its samples with the one given.

        A frame that says already that it is progressive, where it is to be, is returned itself.
        """
        if not (self._scanning.interlaced or frame.interlaced_frame):
            return frame
        self._graph.vpush(frame)
        return self._graph.vpull()
