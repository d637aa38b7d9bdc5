"""An MPEG-2 stream held against what its headers were to say."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from retime.film.scanning import Scanning
from retime.media.disc_picture import DiscPicture, Stated
from retime.media.mpeg2 import RATE_CODES, mpeg2_pictures
from retime.media.vbv import decoded

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from retime.media.disc_picture import Promised
    from retime.media.mpeg2 import Mpeg2Picture, Mpeg2Sequence
    from retime.profile.disc import Disc

__all__ = ["disc_mpeg2"]

_ASPECTS = {Fraction(4, 3): 2, Fraction(16, 9): 3}  # aspect_ratio_information
_MAIN_AT_MAIN = 0x48  # profile_and_level_indication
_VARIABLE = 0xFFFF  # vbv_delay in a stream of variable rate

Fault = tuple[str, str]


def disc_mpeg2(chunks: Iterable[bytes], disc: Disc, promised: Promised) -> Iterator[DiscPicture]:
    """Yield the pictures of a stream, in coded order, with what is wrong with them.

    Raises ValueError, as a clause, at what is no MPEG-2 stream.
    """
    top_first = promised.scanning is Scanning.TOP_FIRST
    for group in _groups(decoded(mpeg2_pictures(chunks))):
        pictures = [picture for picture, _ in group]
        ordered, top_first = _in_order(pictures, promised, top_first=top_first)
        faults = (*_head_faults(pictures[0], disc, promised), *ordered)
        for number, (picture, until_next) in enumerate(group):
            yield DiscPicture(
                bits=picture.bits,
                fields=picture.fields,
                until_next=until_next,
                begins=number == 0,
                closed=picture.group is not None and picture.group.closed,
                stated=_stated(picture.sequence),
                faults=() if number else faults,
            )


def _stated(head: Mpeg2Sequence | None) -> Stated | None:
    if head is None:
        return None
    return Stated(bit_rate=head.bit_rate, buffer_bits=head.buffer_bits)


def _groups(
    pictures: Iterable[tuple[Mpeg2Picture, int]],
) -> Iterator[list[tuple[Mpeg2Picture, int]]]:
    group: list[tuple[Mpeg2Picture, int]] = []
    for picture, until_next in pictures:
        if picture.group is not None and group:
            yield group
            group = []
        group.append((picture, until_next))
    if group:
        yield group


def _head_faults(first: Mpeg2Picture, disc: Disc, promised: Promised) -> Iterator[Fault]:
    """Yield what is wrong with the headers that a group begins with."""
    if first.group is None or first.kind != "I":
        yield "group", "the stream does not begin with a group's header and an I picture"
    elif first.group.broken:
        yield "group", "the group says that its first pictures cannot be decoded"
    if first.sequence is None:
        yield "group", "the group has no sequence header before it"
    else:
        yield from _sequence_faults(first.sequence, disc, promised)


def _sequence_faults(head: Mpeg2Sequence, disc: Disc, promised: Promised) -> Iterator[Fault]:
    if head.raster != promised.raster:
        yield "raster", f"the raster is {head.raster[0]}x{head.raster[1]}"
    if head.rate_code != RATE_CODES.get(promised.rate.fps):
        yield "rate", f"the frame rate's code is {head.rate_code}"
    if head.aspect != _ASPECTS.get(promised.display_aspect):
        yield "aspect", f"the display aspect's code is {head.aspect}"
    if head.profile_and_level != _MAIN_AT_MAIN:
        yield "level", "the stream is not of the Main profile at Main level"
    if head.progressive is promised.scanning.interlaced:
        word = "progressive" if head.progressive else "interlaced"
        yield "scanning", f"the sequence is said to be {word}"
    if head.bit_rate > disc.peak_rate:
        yield "rate", f"the sequence states {head.bit_rate} bits a second"
    if head.buffer_bits > disc.buffer:
        yield "buffer", f"the sequence asks for a buffer of {head.buffer_bits} bits"


def _in_order(
    pictures: list[Mpeg2Picture], promised: Promised, *, top_first: bool
) -> tuple[list[Fault], bool]:
    """Return what is wrong with the order of a group's pictures and fields.

    ``top_first`` is whether the group is to begin with a top field; with the faults comes the
    same for the next one.
    """
    faults: list[Fault] = []
    shown = sorted(pictures, key=lambda picture: picture.temporal_reference)
    if [picture.temporal_reference for picture in shown] != list(range(len(shown))):
        faults.append(("group", "the order in which its pictures are shown has gaps"))
    if any(picture.vbv_delay != _VARIABLE for picture in pictures):
        faults.append(("buffer", "a picture says when to decode it, as no variable rate has it"))
    if not promised.scanning.interlaced:
        return faults, top_first
    for place, picture in enumerate(shown):
        if picture.top_first is not top_first:
            word = "top" if picture.top_first else "bottom"
            faults.append(("order", f"picture {place} of the group begins with the {word} field"))
            return faults, picture.top_first ^ picture.repeat_first
        top_first ^= picture.repeat_first
    return faults, top_first
