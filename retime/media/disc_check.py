"""Reads a disc's stream back from its file and holds it against the disc's limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.film.rounding import half_up
from retime.findings import Finding, TextPlace
from retime.media.bridge import only_video, open_movie, reading
from retime.media.demuxing import coded_frames
from retime.media.disc_h264 import disc_h264
from retime.media.disc_mpeg2 import disc_mpeg2
from retime.media.vbv import DecoderBuffer, PeakWindow

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from pathlib import Path

    from retime.media.disc_picture import DiscPicture, Promised, Stated
    from retime.profile.disc import Disc

    Reader = Callable[[Iterable[bytes], Disc, Promised], Iterator[DiscPicture]]

__all__ = ["disc_findings"]

_READERS: dict[str, Reader] = {"mpeg2": disc_mpeg2, "h264": disc_h264}
_ELEMENTARY = frozenset({"m2v", "264"})
_CHUNK = 1 << 20


def disc_findings(path: Path, codec: str, disc: Disc, promised: Promised) -> list[Finding]:
    """Return how a file breaks a disc's limits or what was promised: nothing, if all is well.

    ``codec`` is ours, mpeg2 or h264. Of each kind of fault the first is told. Raises ScanError
    where the file cannot be read.
    """
    account = _Account(disc, promised)
    try:
        for picture in _READERS[codec](_chunks(path, promised.container), disc, promised):
            account.add(picture)
        account.end()
    except ValueError as error:
        account.tell("stream", str(error), None)
    place = TextPlace(path=path)
    return [
        Finding(place=place, rule=f"disc-{rule}", text=text, hint=hint)
        for rule, (text, hint) in account.faults.items()
    ]


def _chunks(path: Path, container: str) -> Iterator[bytes]:
    """Yield a file's coded stream, in parts that may be cut anywhere."""
    if container in _ELEMENTARY:
        with reading(path), path.open("rb") as file:
            while chunk := file.read(_CHUNK):
                yield chunk
        return
    with open_movie(path) as movie, reading(path):
        yield from map(bytes, coded_frames(movie, only_video(movie, path)))


class _Account:
    """What has been read so far, and what was wrong with it."""

    def __init__(self, disc: Disc, promised: Promised) -> None:
        self.faults: dict[str, tuple[str, str]] = {}
        self._disc, self._promised = disc, promised
        self._second = 2 * promised.rate.fps  # fields
        self._buffer: DecoderBuffer | None = None
        self._peak = PeakWindow(self._second)
        self._to_begin = set(promised.starts)
        self._field = self._group_field = self._bits = 0

    def tell(self, rule: str, text: str, limit: str | None) -> None:
        """Note a fault, unless one of its kind is noted; a limit is the disc's, by its key."""
        hint = "" if limit is None else f"the limit's source: {self._disc.sources[limit]}"
        self.faults.setdefault(rule, (text, hint))

    def add(self, picture: DiscPicture) -> None:
        """Take the next picture into account."""
        if picture.begins:
            self._begin(picture)
        for rule, text in picture.faults:
            self.tell(rule, f"{text} ({self._at(self._group_field)})", None)
        if self._buffer is None:
            self._buffer = self._buffer_of(picture.stated)
        self._buffer.take(picture.bits, picture.until_next)
        self._peak.take(picture.bits, picture.until_next)
        self._bits += picture.bits
        self._field += picture.fields

    def _buffer_of(self, stated: Stated | None) -> DecoderBuffer:
        """Return the buffer that the stream states at its start, else the disc's own."""
        if stated is None:
            return DecoderBuffer(self._disc.peak_rate / self._second, self._disc.buffer)
        inflow = stated.bit_rate / self._second
        return DecoderBuffer(inflow, stated.buffer_bits, stated.at_first)

    def _begin(self, picture: DiscPicture) -> None:
        self._end_group()
        self._group_field = self._field
        if picture.closed:
            self._to_begin.discard(self._field)

    def _end_group(self) -> None:
        shown, most = self._field - self._group_field, self._disc.group_fields
        if shown > most:
            text = f"a group shows {shown} fields, the disc takes {most}"
            self.tell("group", f"{text} ({self._at(self._group_field)})", "group-fields")

    def end(self) -> None:
        """Take the end of the stream into account."""
        self._end_group()
        disc, fields = self._disc, self._promised.fields
        if self._field != fields:
            self.tell("length", f"{self._field} fields are shown where {fields} were planned", None)
        if self._to_begin:
            text = "no closed group begins where a player is to be sent"
            self.tell("chapter", f"{text} ({self._at(min(self._to_begin))})", None)
        if self._peak.bits > disc.peak_rate:
            text = f"a second holds {self._peak.bits} bits, the disc takes {disc.peak_rate}"
            self.tell("peak", f"{text} (from coded picture {self._peak.first})", "peak-rate")
        if self._buffer is not None and self._buffer.underflows:
            late = -self._buffer.lowest
            text = f"a picture is not there in time, by {half_up(late)} bits"
            self.tell("buffer", f"{text} (coded picture {self._buffer.lowest_at})", "buffer")
        self._tell_average()

    def _tell_average(self) -> None:
        """Tell of more bits than come in at the average rate, beside a buffer that is full."""
        most = self._disc.average_rate
        seconds = self._field / self._second
        if most is not None and self._bits > most * seconds + self._disc.buffer:
            average = half_up(self._bits / seconds)
            text = f"{average} bits a second are used on the mean, the disc takes {most}"
            self.tell("average", text, "average-rate")

    def _at(self, field: int) -> str:
        return f"from output frame {field // 2}"
