"""One pass over the scans: every film frame goes by once, to all that want it."""

from __future__ import annotations

from contextlib import ExitStack, closing
from typing import TYPE_CHECKING, NamedTuple

from retime.errors import RetimeError
from retime.media.ahead import read_ahead
from retime.media.bridge import only_video, open_movie
from retime.media.facts import Form
from retime.picture.convert import Converter
from retime.render.copying import FileCopy, PacketCopy
from retime.render.encode_once import EncodeOnce, Share
from retime.render.film import facts_of, film_frames, film_packets
from retime.render.sinks import encoder_settings
from retime.render.streaming import Streamed

if TYPE_CHECKING:
    from collections.abc import Generator, Iterable, Mapping
    from pathlib import Path

    from av.packet import Packet
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

    from retime.edition.edition import Edition
    from retime.edition.scans import ReelScan
    from retime.light.format import PictureFormat
    from retime.render.order import Order
    from retime.render.progress import Progress
    from retime.render.reading import Place, Run
    from retime.render.sinks import Pass

__all__ = ["Passage"]

_AHEAD = 2
"""How many pictures are decoded and converted before the encoders want them."""


class _Encoder(NamedTuple):
    """An encoder, the format of its pictures, and the numbers of the scans that it shows."""

    encoder: EncodeOnce | Streamed
    picture: PictureFormat
    scans: frozenset[int]


class Passage:
    """Everything that a pass makes, opened together and finished or abandoned together."""

    def __init__(self, edition: Edition, made: Pass) -> None:
        """Take what is to be made; nothing is opened yet."""
        self._edition = edition
        self._made = made
        self._copies: list[PacketCopy | FileCopy] = []
        self._encoders: list[_Encoder] = []

    def run(self, progress: Progress) -> None:
        """Make it all; raises what went wrong once everything open has been let go."""
        try:
            self._open()
            for number, run in self._made.runs().items():
                self._run(number, run, progress)
            for sink in (*self._copies, *(one.encoder for one in self._encoders)):
                sink.finish()
            self._check_counts()
        except BaseException:
            for sink in (*self._copies, *(one.encoder for one in self._encoders)):
                sink.abandon()
            raise

    def _open(self) -> None:
        plates = self._edition.plates
        for order in self._made.copies:
            self._copies.append(_copy(order))
        for (settings, *_), orders in self._made.shared.items():
            scans = frozenset(number for order in orders for number in order.scans)
            encoder = EncodeOnce(settings, orders, plates)
            self._encoders.append(_Encoder(encoder, settings.picture, scans))
        for order in self._made.streams:
            settings = encoder_settings(order)
            streamed = Streamed(settings, order, plates)
            self._encoders.append(_Encoder(streamed, settings.picture, frozenset(order.scans)))

    def _run(self, number: int, run: Run, progress: Progress) -> None:
        scan, first, last = self._edition.scans[run.scan], run.first, run.last
        facts, framing = facts_of(scan), scan.reel.framing
        copies = [sink for sink in self._copies if run.scan in sink.order.scans]
        encoders = [one for one in self._encoders if run.scan in one.scans]
        converters = {
            one.picture: Converter(facts.picture, one.picture, framing) for one in encoders
        }
        with ExitStack() as open_ones:
            coded = pictures = None
            if copies:
                coded = open_ones.enter_context(closing(_coded(scan, first, last)))
            # Files of a sequence are decoded even where they are only copied: nothing else would
            # notice that one is damaged, or of another size than the rest.
            if encoders or scan.sequence is not None:
                decoded = film_frames(scan, first, last)
                pictures = open_ones.enter_context(
                    closing(read_ahead(_converted(decoded, converters), lambda _: 1, _AHEAD))
                )
            for frame in range(first, last + 1):
                ready = next(pictures) if pictures is not None else {}
                if coded is not None:
                    _feed(copies, (number, frame), next(coded))
                for encoder, target, _ in encoders:
                    if target in ready and encoder.wants((number, frame)):
                        encoder.feed((number, frame), ready[target])
                progress.advance(1)
            for source in (coded, pictures):
                if source is not None:  # at its end a reader checks that the scan ends there too
                    next(source, None)

    def _check_counts(self) -> None:
        """Hold what was written against the plans; a difference is our own failure."""
        shares: list[PacketCopy | FileCopy | Share | Streamed] = [*self._copies]
        for encoder, *_ in self._encoders:
            shares += encoder.shares if isinstance(encoder, EncodeOnce) else [encoder]
        for share in shares:
            planned = share.order.coded
            if share.written != planned:
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


def _feed(
    copies: Iterable[PacketCopy | FileCopy],
    place: Place,
    coded: Packet[VideoStream] | Path | None,
) -> None:
    """Give a frame's coded picture, which a hole has none of, to all that copy it."""
    if coded is None:
        return
    for sink in copies:
        sink.feed(place, coded)


def _copy(order: Order) -> PacketCopy | FileCopy:
    facts = order.template
    if facts.form is Form.SEQUENCE:
        return FileCopy(order, facts.path.suffix.removeprefix("."))
    with open_movie(facts.path) as container:
        return PacketCopy(order, only_video(container, facts.path), facts)


def _coded(scan: ReelScan, first: int, last: int) -> Generator[Packet[VideoStream] | Path | None]:
    """Yield each frame's coded picture: a packet, or a file of a sequence, None for a hole."""
    if scan.sequence is None:
        yield from film_packets(scan, first, last)
        return
    for frame in range(first, last + 1):
        yield scan.sequence.path_at(scan.told(frame))
