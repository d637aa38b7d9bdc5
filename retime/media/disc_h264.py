"""An H.264 stream held against what its headers were to say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.film.scanning import Scanning
from retime.media.disc_picture import DiscPicture, Stated
from retime.media.h264 import h264_pictures

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from retime.media.disc_picture import Promised
    from retime.media.h264 import H264Picture
    from retime.media.h264_sequence import H264Buffer, H264Sequence
    from retime.profile.disc import Disc

__all__ = ["disc_h264"]

_FRAME = 2  # fields
_MAIN, _HIGH = 77, 100  # profile_idc
_MOST_LEVEL = 41  # level_idc
# pic_struct by scanning; None is a stream that does not say it.
_STRUCTURES: dict[Scanning, set[int | None]] = {
    Scanning.PROGRESSIVE: {0, None},
    Scanning.TOP_FIRST: {3},
    Scanning.BOTTOM_FIRST: {4},
}

Fault = tuple[str, str]


def disc_h264(chunks: Iterable[bytes], disc: Disc, promised: Promised) -> Iterator[DiscPicture]:
    """Yield the pictures of a stream, in coded order, with what is wrong with them.

    Only a picture that nothing after it refers beyond (IDR) begins a group, a closed one. Frames
    are decoded at even distances. Raises ValueError, as a clause, at what is no H.264 stream.
    """
    buffer: H264Buffer | None = None
    for picture in h264_pictures(chunks):
        if picture.sequence is not None:
            buffer = picture.sequence.buffer
        yield DiscPicture(
            bits=picture.bits,
            fields=picture.fields,
            until_next=_FRAME if picture.frame else 1,
            begins=picture.idr,
            closed=picture.idr,
            stated=_stated(picture, buffer),
            faults=tuple(_faults(picture, disc, promised)),
        )


def _stated(picture: H264Picture, buffer: H264Buffer | None) -> Stated | None:
    if buffer is None or picture.delay is None:
        return None
    return Stated(
        bit_rate=buffer.bit_rate,
        buffer_bits=buffer.buffer_bits,
        at_first=int(buffer.bit_rate * picture.delay),
    )


def _faults(picture: H264Picture, disc: Disc, promised: Promised) -> Iterator[Fault]:
    if not picture.delimited:
        yield "group", "a picture has no delimiter before it"
    if picture.structure not in _STRUCTURES[promised.scanning]:
        yield "order", f"a picture's structure (pic_struct) is {picture.structure}"
    if picture.sequence is not None:
        yield from _sequence_faults(picture.sequence, promised)
        yield from _buffer_faults(picture.sequence.buffer, disc)
    elif picture.idr:
        yield "group", "a group has no sequence parameters"


def _sequence_faults(head: H264Sequence, promised: Promised) -> Iterator[Fault]:
    if head.raster != promised.raster:
        yield "raster", f"the raster is {head.raster[0]}x{head.raster[1]}"
    if head.rate != promised.rate.fps:
        yield "rate", f"the rate is said to be {head.rate} frames a second"
    if head.sample_aspect != promised.sample_aspect:
        yield "aspect", f"the sample aspect is said to be {head.sample_aspect}"
    if head.profile not in {_MAIN, _HIGH} or head.level > _MOST_LEVEL:
        yield "level", f"the stream is of profile {head.profile} at level {head.level}"
    if head.frames_only is promised.scanning.interlaced:
        word = "progressive" if head.frames_only else "interlaced"
        yield "scanning", f"the sequence is said to be {word}"


def _buffer_faults(buffer: H264Buffer | None, disc: Disc) -> Iterator[Fault]:
    if buffer is None or not buffer.network:
        yield "buffer", "the stream states no buffer (NAL HRD)"
        return
    if buffer.bit_rate > disc.peak_rate:
        yield "rate", f"the stream states {buffer.bit_rate} bits a second"
    if buffer.buffer_bits > disc.buffer:
        yield "buffer", f"the stream asks for a buffer of {buffer.buffer_bits} bits"
