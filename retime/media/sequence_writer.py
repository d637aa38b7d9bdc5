"""Writes a deliverable as numbered files, one an output frame, counted from 0."""

from __future__ import annotations

import json
import os
import secrets
from typing import TYPE_CHECKING

from msgspec import Struct, field

from retime.film.timecode import frame_of, label
from retime.media.dpx_header import DpxTimes, with_dpx_times
from retime.media.writing import flush_to_disk, writing

if TYPE_CHECKING:
    from pathlib import Path

    from av.packet import Packet
    from av.video.stream import VideoStream

    from retime.film.speed import Rate

__all__ = ["SequenceSettings", "SequenceWriter", "describe"]

_DIGITS = 7


class SequenceSettings(Struct, frozen=True, kw_only=True):
    """Where the files go and what they are called: ``folder/stem.0000000.ending``.

    With ``links`` a repeat is a hard link to the file it repeats. ``timecode`` is the label of the
    first file, one that exists at the rate; without it labels count from 0. ``about`` is written
    beside the files, which for the most part cannot carry it. ``piece`` are the numbers of those
    that are written now, into a folder that is there; None for all, into a new one.
    """

    folder: Path
    stem: str
    ending: str
    rate: Rate
    drop_frame: bool
    links: bool
    timecode: str | None = None
    about: dict[str, str] = field(default_factory=dict)
    piece: range | None = None

    def path(self, number: int) -> Path:
        """Return the file of a number."""
        return self.folder / f"{self.stem}.{number:0{_DIGITS}}.{self.ending}"


class SequenceWriter:
    """A folder of numbered files being written; nothing is final until ``finish``.

    A file of a piece is written beside the folder, and takes its place whole: the piece may be
    there from an earlier try, or be made a second time while whoever leads has taken it already,
    as a cluster does with what a lost worker had finished.
    """

    def __init__(self, settings: SequenceSettings) -> None:
        """Make the folder, which must not be there unless only a piece is written."""
        self._settings = settings
        self.written = 0
        self._first = settings.piece.start if settings.piece else 0
        start = settings.timecode
        self._start = 0 if start is None else frame_of(start, settings.rate)
        with writing(settings.folder):
            settings.folder.mkdir(exist_ok=settings.piece is not None)

    def repeat(self, packet: Packet[VideoStream], times: int) -> None:
        """Write a coded picture, which is a whole file, ``times`` times in a row."""
        self.repeat_bytes(bytes(packet), times)

    def repeat_bytes(self, data: bytes, times: int) -> None:
        """Write a whole file ``times`` times in a row, each with the times that are its own."""
        first = self._first + self.written
        for number in range(first, first + times):
            path = self._settings.path(number)
            repeated = self._settings.path(first) if number > first else None
            with writing(path):
                if self._settings.piece is None:
                    self._put(path, data, number, repeated)
                else:
                    work = path.parent.with_name(f".{path.name}.{secrets.token_hex(4)}")
                    self._put(work, data, number, repeated)
                    work.replace(path)
                    work.unlink(missing_ok=True)  # left there where both are links to one file
            self.written += 1

    def _put(self, path: Path, data: bytes, number: int, repeated: Path | None) -> None:
        """Write a file of a number, or link it to that which it repeats."""
        if self._settings.links and repeated is not None:
            os.link(repeated, path)
        else:
            path.write_bytes(self._stamped(data, number))

    def _stamped(self, data: bytes, number: int) -> bytes:
        settings = self._settings
        if settings.ending != "dpx":
            return data
        timecode = None
        if not settings.links and settings.rate.nominal.fps.denominator == 1:
            timecode = label(self._start + number, settings.rate, drop=settings.drop_frame)
        times = DpxTimes(rate=settings.rate, number=number, timecode=timecode)
        return with_dpx_times(data, times, settings.about)

    def finish(self) -> None:
        """Say what the files are, and flush them to disk; of a piece only the latter."""
        settings, folder = self._settings, self._settings.folder
        with writing(folder):
            if settings.piece is not None:
                for number in settings.piece:
                    flush_to_disk(settings.path(number))
                return
            describe(settings)
            for path in folder.iterdir():
                flush_to_disk(path)
            flush_to_disk(folder)

    def abandon(self) -> None:
        """Leave the folder as it stands; its owner removes it."""


def describe(settings: SequenceSettings) -> None:
    """Write beside the files of a sequence what they are."""
    about = {**settings.about, "rate": str(settings.rate)}
    if settings.timecode is not None:
        about["timecode"] = settings.timecode
    text = json.dumps(about, indent=2, ensure_ascii=False) + "\n"
    path = settings.folder / "about.json"
    path.write_text(text, encoding="utf-8")
    flush_to_disk(path)
    flush_to_disk(settings.folder)
