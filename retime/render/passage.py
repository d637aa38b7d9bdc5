"""One pass over the scans: every film frame goes by once, to all that want it."""

from __future__ import annotations

from contextlib import ExitStack, closing
from functools import partial
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from retime.errors import RetimeError
from retime.media.ahead import read_ahead
from retime.media.bridge import only_video, open_movie
from retime.media.facts import Form
from retime.media.memory import keep_freed
from retime.picture.convert import Converter
from retime.render.copying import FileCopy, PacketCopy
from retime.render.encode_once import EncodeOnce, Share
from retime.render.failures import Failures
from retime.render.files import Files
from retime.render.film import facts_of, film_frames, film_packets
from retime.render.sinks import encoder_settings
from retime.render.streaming import Streamed

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Mapping, Sequence
    from pathlib import Path

    from av.packet import Packet
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

    from retime.edition.edition import Edition
    from retime.edition.scans import ReelScan
    from retime.light.format import PictureFormat
    from retime.media.encoder import EncoderSettings
    from retime.render.files import Outlet
    from retime.render.order import Order
    from retime.render.progress import Progress
    from retime.render.reading import Place, Run
    from retime.render.sinks import Pass

__all__ = ["Manner", "Passage"]

_AHEAD = 2
"""How many pictures are decoded and converted before the encoders want them."""


class Manner(NamedTuple):
    """How a pass is made: where pictures go, by the orders of an encoder, and how they are read."""

    outlet: Callable[[Sequence[Order]], Outlet] = lambda _: Files()
    frames: Callable[[ReelScan, int, int], Generator[VideoFrame | None]] = film_frames


_Sink: TypeAlias = "PacketCopy | FileCopy | EncodeOnce | Streamed"


class _Encoder(NamedTuple):
    """An encoder, the format of its pictures, and the numbers of the scans that it shows."""

    encoder: EncodeOnce | Streamed
    picture: PictureFormat
    scans: frozenset[int]


class Passage:
    """Everything that a pass makes, opened together and finished or abandoned together."""

    def __init__(
        self,
        edition: Edition,
        made: Pass,
        how: Manner | None = None,
        failures: Failures | None = None,
    ) -> None:
        """Take what is to be made, and who is told what fails alone; nothing is opened yet."""
        self._edition = edition
        self._made = made
        self._how = how or Manner()
        self._failures = failures or Failures()
        self._copies: list[PacketCopy | FileCopy] = []
        self._encoders: list[_Encoder] = []

    def run(self, progress: Progress) -> None:
        """Make it all; raises what went wrong once everything open has been let go."""
        keep_freed()
        try:
            self._open()
            for number, run in self._made.runs().items():
                self._run(number, run, progress)
            for sink in self._sinks():
                self._apart(sink, sink.finish)
            self._check_counts()
        except BaseException:
            for sink in self._sinks():
                sink.abandon()
            raise

    def _sinks(self) -> list[_Sink]:
        return [*self._copies, *(one.encoder for one in self._encoders)]

    def _apart(self, sink: _Sink, work: Callable[[], None]) -> None:
        """Do something for one sink; what goes wrong there is not the others' business."""
        try:
            work()
        except RetimeError as error:
            self._failures.take([order.name for order in sink.orders], error)
            self._copies = [one for one in self._copies if one is not sink]
            self._encoders = [one for one in self._encoders if one.encoder is not sink]
            sink.abandon()

    def _open(self) -> None:
        for order in self._made.copies:
            self._open_one([order], partial(self._open_copy, order))
        for (settings, *_), orders in self._made.shared.items():
            self._open_one(orders, partial(self._open_shared, settings, orders))
        for order in self._made.streams:
            self._open_one([order], partial(self._open_stream, order))

    def _open_one(self, orders: Sequence[Order], work: Callable[[], None]) -> None:
        try:
            work()
        except RetimeError as error:
            self._failures.take([order.name for order in orders], error)

    def _open_copy(self, order: Order) -> None:
        shared = any(one.rate != order.rate for one in self._made.copies)
        self._copies.append(_copy(order, shared=shared))

    def _open_shared(self, settings: EncoderSettings, orders: Sequence[Order]) -> None:
        scans = frozenset(number for order in orders for number in order.scans)
        outlet, failures = self._how.outlet(orders), self._failures
        encoder = EncodeOnce(settings, orders, self._edition.plates, outlet, failures)
        self._encoders.append(_Encoder(encoder, settings.picture, scans))

    def _open_stream(self, order: Order) -> None:
        settings, outlet = encoder_settings(order), self._how.outlet([order])
        streamed = Streamed(settings, order, self._edition.plates, outlet)
        self._encoders.append(_Encoder(streamed, settings.picture, frozenset(order.scans)))

    def _run(self, number: int, run: Run, progress: Progress) -> None:
        scan, first, last = self._edition.scans[run.scan], run.first, run.last
        facts, framing = facts_of(scan), scan.reel.framing
        copied = any(run.scan in sink.order.scans for sink in self._copies)
        encoded = [one for one in self._encoders if run.scan in one.scans]
        converters = {
            one.picture: Converter(facts.picture, one.picture, framing) for one in encoded
        }
        with ExitStack() as open_ones:
            coded = pictures = None
            if copied:
                coded = open_ones.enter_context(closing(_coded(scan, first, last)))
            # Files of a sequence are decoded even where they are only copied: nothing else would
            # notice that one is damaged, or of another size than the rest.
            if encoded or scan.sequence is not None:
                # A file that is copied as it is must be sound, whatever stands in for others.
                read = film_frames if copied and scan.sequence else self._how.frames
                decoded = read(scan, first, last)
                pictures = open_ones.enter_context(
                    closing(read_ahead(_converted(decoded, converters), lambda _: 1, _AHEAD))
                )
            for frame in range(first, last + 1):
                ready = next(pictures) if pictures is not None else {}
                if coded is not None:
                    self._copy(run.scan, (number, frame), next(coded))
                self._encode(run.scan, (number, frame), ready)
                progress.advance(1)
            for source in (coded, pictures):
                if source is not None:  # at its end a reader checks that the scan ends there too
                    next(source, None)

    def _copy(self, scan: int, place: Place, coded: Packet[VideoStream] | Path | None) -> None:
        """Give a frame's coded picture, which a hole has none of, to all that copy it."""
        if coded is None:
            return
        for sink in self._copies:
            if scan in sink.order.scans:
                self._apart(sink, partial(sink.feed, place, coded))

    def _encode(self, scan: int, place: Place, ready: Mapping[PictureFormat, VideoFrame]) -> None:
        for encoder, target, scans in self._encoders:
            if scan in scans and target in ready and encoder.wants(place):
                self._apart(encoder, partial(encoder.feed, place, ready[target]))

    def _check_counts(self) -> None:
        """Hold what was written against the plans; a difference is our own failure."""
        shares: list[PacketCopy | FileCopy | Share | Streamed] = [*self._copies]
        for encoder, *_ in self._encoders:
            shares += encoder.shares if isinstance(encoder, EncodeOnce) else [encoder]
        for share in shares:
            planned = share.order.coded
            if share.order.name not in self._failures.known and share.written != planned:
                raise RetimeError(
                    f"{share.order.name}: {share.written} pictures were written, not {planned}"
                )


def _converted(
    decoded: Generator[VideoFrame | None], converters: Mapping[PictureFormat, Converter]
) -> Generator[dict[PictureFormat, VideoFrame]]:
    """Yield each picture in every format that is made of it; nothing for a hole."""
    with closing(decoded):
        for picture in decoded:
            if picture is None:
                yield {}
            else:
                yield {target: one.convert(picture) for target, one in converters.items()}


def _copy(order: Order, *, shared: bool) -> PacketCopy | FileCopy:
    facts = order.template
    if facts.form is Form.SEQUENCE:
        return FileCopy(order, facts.path.suffix.removeprefix("."))
    with open_movie(facts.path) as container:
        return PacketCopy(order, only_video(container, facts.path), facts, shared=shared)


def _coded(scan: ReelScan, first: int, last: int) -> Generator[Packet[VideoStream] | Path | None]:
    """Yield each frame's coded picture: a packet, or a file of a sequence, None for a hole."""
    if scan.sequence is None:
        yield from film_packets(scan, first, last)
        return
    for frame in range(first, last + 1):
        yield scan.sequence.path_at(scan.told(frame))
