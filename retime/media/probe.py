"""What a scan is, by its headers alone."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import av

from retime.errors import ScanError
from retime.light.format import PictureFormat
from retime.media.bridge import (
    MAX_PIXELS,
    check_file,
    fraction_of,
    only_video,
    open_movie,
    prepare_decoder,
    reading,
)
from retime.media.dnxhd_header import dnxhd_variant
from retime.media.facts import Form, ScanFacts
from retime.media.index import indexed_frames
from retime.media.intra import intra_promise
from retime.media.sequence import PICTURE_CODECS, is_pattern, list_sequence

if TYPE_CHECKING:
    from pathlib import Path

    from av.container import InputContainer
    from av.packet import Packet
    from av.video.codeccontext import VideoCodecContext
    from av.video.stream import VideoStream

__all__ = ["file_packet", "picture_codec", "probe", "whole_picture"]

# AVFieldOrder: what is displayed first, what is coded first.
_FIELD_ORDERS = {
    1: "progressive",
    2: "top-first",
    3: "bottom-first",
    4: "bottom-first (top coded first)",
    5: "top-first (bottom coded first)",
}
# Matroska's interleaved orders, 9 and 14, speak of display alone (RFC 9559, FieldOrder); FFmpeg
# reads them as orders of coding that differ from those of display.
_MATROSKA_ORDERS = _FIELD_ORDERS | {4: "top-first", 5: "bottom-first"}
_DNXHD = "DNXHD"


def probe(path: Path) -> ScanFacts:
    """Read a scan's headers: a movie's, or the first picture's of numbered files.

    Raises ScanError for anything that is no scan.
    """
    return _probe_sequence(path) if is_pattern(path) else _probe_movie(path)


def _probe_movie(path: Path) -> ScanFacts:
    status = check_file(path)
    if path.suffix[1:].lower() in PICTURE_CODECS:
        ending = path.suffix
        raise ScanError(path, "is a single picture", f"write numbered files as %06d{ending}")
    with open_movie(path) as container, reading(path):
        stream = only_video(container, path)
        context = stream.codec_context
        _check_raster(path, context)
        extradata = context.extradata or b""
        intra, reason = intra_promise(context.codec.canonical_name, extradata)
        index = indexed_frames(container, stream)
        orders = _MATROSKA_ORDERS if "matroska" in container.format.name else _FIELD_ORDERS
        return ScanFacts(
            path=path,
            form=Form.MOVIE,
            container=container.format.name,
            codec=context.codec.canonical_name,
            codec_profile=_codec_profile(container, stream),
            codec_tag=context.codec_tag.strip("\0"),
            extradata=extradata,
            picture=PictureFormat(
                width=context.width,
                height=context.height,
                pixel_format=context.pix_fmt or "",
                sample_aspect=fraction_of(stream.sample_aspect_ratio),
                field_order=orders.get(context.field_order),
                primaries=context.color_primaries,
                transfer=context.color_trc,
                matrix=context.colorspace,
                range=context.color_range,
            ),
            intra=intra,
            intra_reason=reason,
            header_frames=index.frames if index is not None else None,
            bytes=status.st_size,
            header_rate=fraction_of(stream.average_rate),
            changed_ns=status.st_mtime_ns,
        )


def _codec_profile(container: InputContainer, stream: VideoStream) -> str | None:
    """Return FFmpeg's name of the codec's profile; of DNxHD the variant beside it."""
    profile = stream.codec_context.profile
    if profile != _DNXHD:
        return profile
    picture = next((packet for packet in container.demux(stream) if packet.size), None)
    variant = dnxhd_variant(bytes(picture)) if picture is not None else None
    return f"{profile} {variant}" if variant else profile


def _check_raster(path: Path, context: VideoCodecContext) -> None:
    if not context.pix_fmt or context.width <= 0 or context.height <= 0:
        raise ScanError(path, "does not say what its pictures are", "it may be damaged")
    if context.width * context.height > MAX_PIXELS:
        raise ScanError(path, f"has pictures of {context.width}x{context.height}, which is no scan")


def picture_codec(pattern: Path) -> str:
    """Return the decoder for a sequence's files; ScanError for an ending that is no picture's."""
    ending = pattern.suffix[1:].lower()
    if ending not in PICTURE_CODECS:
        endings = ", ".join(PICTURE_CODECS)
        raise ScanError(pattern, "is no sequence of pictures", f"endings can be {endings}")
    return PICTURE_CODECS[ending]


def file_packet(path: Path) -> Packet[VideoStream]:
    """Return a single-picture file as a packet that stands alone.

    Without the key flag FFmpeg takes a PNG file for the difference to the one before.
    """
    check_file(path)
    with reading(path):
        packet = cast("Packet[VideoStream]", av.Packet(path.read_bytes()))
    packet.is_keyframe = True
    return packet


def whole_picture(path: Path, codec: str) -> tuple[VideoCodecContext, av.VideoFrame]:
    """Decode one single-picture file, and return the decoder beside the picture."""
    packet = file_packet(path)
    with reading(path, "holds no picture that can be decoded"):
        context = cast("VideoCodecContext", av.CodecContext.create(codec, "r"))
        prepare_decoder(context, 1)
        frames = [*context.decode(packet), *context.decode(None)]
    if len(frames) != 1:
        raise ScanError(path, f"holds {len(frames)} pictures", "numbered files hold one each")
    return context, frames[0]


def _probe_sequence(pattern: Path) -> ScanFacts:
    sequence = list_sequence(pattern)
    codec = picture_codec(pattern)
    context, frame = whole_picture(sequence.first_path, codec)
    return ScanFacts(
        path=pattern,
        form=Form.SEQUENCE,
        container="sequence",
        codec=codec,
        codec_profile=context.profile,
        codec_tag="",
        extradata=b"",
        picture=PictureFormat(
            width=frame.width,
            height=frame.height,
            pixel_format=frame.format.name,
            sample_aspect=fraction_of(context.sample_aspect_ratio),
            field_order="progressive",
            primaries=frame.color_primaries,
            transfer=frame.color_trc,
            matrix=frame.colorspace,
            range=frame.color_range,
        ),
        intra=True,
        intra_reason="each file holds one whole picture",
        header_frames=sequence.positions,
        bytes=sequence.bytes,
        changed_ns=sequence.changed_ns,
    )
