"""A scan's pictures, decoded, in order."""

from __future__ import annotations

from contextlib import closing, suppress
from itertools import islice
from typing import TYPE_CHECKING, cast

import av

from retime.media.bridge import only_video, open_movie, prepare_decoder, reading
from retime.media.decoding import Coded, LoneDecoder, damaged, decode_in_order
from retime.media.demuxing import check_end, frame_packets
from retime.media.facts import Form
from retime.media.ffv1 import parse_config
from retime.media.ffv1slices import has_slice_checksums, sound_slices
from retime.media.probe import file_packet
from retime.media.sequence import list_sequence
from retime.media.tiff_checks import DIFFERS, checksums_agree

if TYPE_CHECKING:
    from collections.abc import Generator, Iterable, Iterator
    from pathlib import Path

    from av.packet import Packet
    from av.video.codeccontext import VideoCodecContext
    from av.video.stream import VideoStream

    from retime.media.facts import ScanFacts

__all__ = ["read_frames"]


def read_frames(
    facts: ScanFacts, first: int, last: int, *, threads: int = 0, count: int | None = None
) -> Generator[av.VideoFrame | None]:
    """Yield frames ``first`` to ``last``, inclusive, counted from 0; None for a missing file.

    Only a sequence has missing files; what is to be shown for one is the caller's business.
    ``threads`` is how many the decoder may use, 0 for one a core. With ``count``, how many
    frames the scan is said to hold, a movie that goes on after them is an error too.
    Raises ScanError at a frame that is damaged or of another size or pixel format than the
    scan's headers say, and where the scan ends before ``last``.
    """
    if facts.form is Form.SEQUENCE:
        return _sequence_frames(facts, first, last, threads, count)
    if facts.intra:
        return _lone_frames(facts, first, last, threads, count)
    return _leaning_frames(facts, first, last, threads, count)


def _sequence_frames(
    facts: ScanFacts, first: int, last: int, threads: int, count: int | None
) -> Generator[av.VideoFrame | None]:
    sequence = list_sequence(facts.path)
    check_end(facts.path, sequence.positions, last, count)

    def files() -> Iterator[Coded]:
        for position in range(first, last + 1):
            path = sequence.path_at(position)
            if path is None:
                yield Coded(position=position, path=facts.path, packet=None)
                continue
            packet = file_packet(path)
            if facts.codec == "tiff" and not checksums_agree(memoryview(packet)):
                raise damaged(path, position, DIFFERS)
            yield Coded(position=position, path=path, packet=packet)

    def decoder(wanted: int) -> VideoCodecContext:
        context = cast("VideoCodecContext", av.CodecContext.create(facts.codec, "r"))
        prepare_decoder(context, wanted)
        return context

    yield from LoneDecoder(decoder, facts.picture, threads).pictures(files())


def _lone_frames(
    facts: ScanFacts, first: int, last: int, threads: int, count: int | None
) -> Generator[av.VideoFrame | None]:
    """Read a movie whose pictures stand alone: those before ``first`` are not decoded."""
    path = facts.path

    def decoder(wanted: int) -> VideoCodecContext:
        with open_movie(path) as container:
            context = only_video(container, path).codec_context
            prepare_decoder(context, wanted)
            return context

    packets = _sound(frame_packets(path, first, last, count), facts, first)
    coded = (
        Coded(position=position, path=path, packet=packet)
        for position, packet in enumerate(packets, first)
    )
    yield from LoneDecoder(decoder, facts.picture, threads).pictures(coded)


def _leaning_frames(
    facts: ScanFacts, first: int, last: int, threads: int, count: int | None
) -> Generator[av.VideoFrame | None]:
    """Read a movie whose pictures may lean on earlier ones: all are decoded from the start."""
    path = facts.path
    found = 0
    stop = last + 2 if last + 1 == count else last + 1
    with open_movie(path) as container, reading(path, "cannot be read to its end"):
        stream = only_video(container, path)
        prepare_decoder(stream.codec_context, threads)
        # What an edit list cuts away is decoded too: what it presents may lean on it.
        packets = _sound((one for one in container.demux(stream) if one.size), facts, 0)
        frames = decode_in_order(packets, stream.codec_context, facts.picture, path)
        with closing(frames):
            for frame in islice(frames, stop):
                if first <= found <= last:
                    yield frame
                found += 1
    check_end(path, found, last, count)


def _sound(
    packets: Iterable[Packet[VideoStream]], facts: ScanFacts, first: int
) -> Iterable[Packet[VideoStream]]:
    """Give the packets back, each held against its checksums where the codec has any."""
    if facts.codec != "ffv1" or not _has_checksums(facts.extradata):
        return packets
    return _checked(packets, facts.path, first)


def _has_checksums(extradata: bytes) -> bool:
    with suppress(ValueError):
        return has_slice_checksums(parse_config(extradata))
    return False


def _checked(
    packets: Iterable[Packet[VideoStream]], path: Path, first: int
) -> Iterator[Packet[VideoStream]]:
    for position, packet in enumerate(packets, first):
        if not sound_slices(memoryview(packet)):
            raise damaged(path, position, "a slice does not match its checksum")
        yield packet
