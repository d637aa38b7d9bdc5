"""Encodes film frames once as MPEG-2 whose repeat flags show them for two fields or three.

The encoder codes progressive frames, and their headers are changed afterwards: the sequence is
said to be interlaced and each frame to be progressive within it. That differs in no other bit as
long as the raster has an even number of macroblock rows (ISO/IEC 13818-2, section 6.3.3).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec
from msgspec import Struct

from retime.errors import OutputError
from retime.film.scanning import Scanning
from retime.film.timecode import label
from retime.media.encoder import PictureEncoder
from retime.media.mpeg2 import RATE_CODES
from retime.media.mpeg2_patch import set_repeat_flags, set_sequence, set_time_code
from retime.media.told_rates import screen_rates, told_rates
from retime.plan.repeat_flags import repeat_flags
from retime.profile.options import joined

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence
    from pathlib import Path

    from av.packet import Packet
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

    from retime.media.encoder import EncoderSettings
    from retime.plan.repeat_flags import RepeatFlags

__all__ = ["FlaggedEncoder", "Showing"]

_MACROBLOCK = 16
_FRAME = 2  # fields
# Groups begin where they are told to and nowhere else, and refer to nothing outside themselves.
_GROUPS = {"g": "600", "sc_threshold": "1000000000", "flags": "+cgop"}


class Showing(Struct, frozen=True, kw_only=True):
    """How coded pictures are shown.

    ``runs`` are the fields that each is shown for, 2 or 3, the first of all a top field or not.
    ``starts`` are the pictures that begin a group. ``first_frame`` is the number of the first
    output frame by the timecode that groups carry, which is drop-frame or not.
    """

    runs: Sequence[int]
    top_first: bool
    starts: Collection[int]
    first_frame: int = 0
    drop_frame: bool = False


class _Place(Struct, frozen=True, kw_only=True):
    """Where a picture stands among the fields, and how it is shown from there."""

    field: int
    flags: RepeatFlags


class FlaggedEncoder:
    """An encoder whose packets have exact times, counted in fields of the deliverable's rate."""

    def __init__(self, settings: EncoderSettings, showing: Showing, path: Path) -> None:
        """Open the encoder; every picture of ``showing`` is then to be fed, in order.

        The settings' options ``b``, ``maxrate`` and ``bufsize`` count bits a second of screen time
        and bits of a decoder's buffer. Raises OutputError, about ``path``, where they are not
        stated, or MPEG-2 cannot say what is asked for.
        """
        if settings.rate is None or settings.rate.fps not in RATE_CODES:
            raise OutputError(path, f"MPEG-2 has no rate of {settings.rate} frames a second")
        if -(-settings.picture.height // _MACROBLOCK) % 2:
            lines = settings.picture.height
            hint = "a height such as 480 or 576 is a multiple of 32"
            raise OutputError(path, f"{lines} lines cannot carry repeat flags", hint)
        self._rate, self._showing = settings.rate, showing
        options = dict(settings.options)
        self._asked = screen_rates(options, path)
        told = told_rates(self._asked, showing.runs, settings.rate)
        self._encoder = PictureEncoder(
            msgspec.structs.replace(
                settings,
                options=tuple(joined(options, told.options, _GROUPS).items()),
                scanning=Scanning.PROGRESSIVE,
            ),
            path,
            frozenset(showing.starts),
        )
        self._coming = enumerate(_places(showing))
        self._coded: dict[int, _Place] = {}
        self._reference: int | None = None  # the first field of the last picture that is no B

    @property
    def settings(self) -> EncoderSettings:
        """What the encoder is told, scaled to the pictures that there are."""
        return self._encoder.settings

    @property
    def template(self) -> VideoStream:
        """The stream that a file's own stream is made after."""
        return self._encoder.template

    def encode(self, frame: VideoFrame) -> Iterator[Packet[VideoStream]]:
        """Feed the next picture; yield the packets that are ready."""
        number, self._coded[number] = next(self._coming)
        yield from map(self._shown, self._encoder.encode(frame))

    def finish(self) -> Iterator[Packet[VideoStream]]:
        """Yield what the encoder still holds."""
        yield from map(self._shown, self._encoder.finish())

    def close(self) -> None:
        """Let the encoder go."""
        self._encoder.close()

    def _shown(self, packet: Packet[VideoStream]) -> Packet[VideoStream]:
        """Write into a packet how its picture is shown, and when."""
        if packet.pts is None:
            raise TypeError(packet)
        place = self._coded.pop(packet.pts)
        coded = memoryview(packet)
        flags = place.flags
        set_repeat_flags(coded, top_first=flags.top_first, repeat_first=flags.repeat_first)
        set_sequence(
            coded,
            bit_rate=self._asked.peak,
            buffer_bits=self._asked.buffer,
            progressive=False,
            rate_code=RATE_CODES[self._rate.fps],
        )
        frame = self._showing.first_frame + place.field // _FRAME
        set_time_code(coded, label(frame, self._rate, drop=self._showing.drop_frame))
        packet.dts = self._decoded_at(packet.pts == packet.dts, place.field)
        packet.pts, packet.duration = place.field, flags.fields
        packet.time_base = 1 / (_FRAME * self._rate.fps)
        return packet

    def _decoded_at(self, at_once: bool, field: int) -> int:  # noqa: FBT001
        """Return at which field a picture is decoded.

        A B picture is shown at once; any other, at the moment at which the one before it that is
        no B picture begins to be shown.
        """
        if at_once:
            return field
        before, self._reference = self._reference, field
        return -_FRAME if before is None else before


def _places(showing: Showing) -> Iterator[_Place]:
    field = 0
    for flags in repeat_flags(showing.runs, top_first=showing.top_first):
        yield _Place(field=field, flags=flags)
        field += flags.fields
