"""What has to be known to read a list, since lists do not say it of themselves."""

from __future__ import annotations

import re
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct, field

from retime.errors import NotationError
from retime.film.gauge import Footage
from retime.film.length import LengthUnit, SpokenLength
from retime.film.notation import shown
from retime.film.rounding import half_up
from retime.lists.labels import frame_at, looks_like_a_label, marked_drop
from retime.lists.reelnames import edl_names

if TYPE_CHECKING:
    from collections.abc import Mapping

    from retime.film.gauge import Gauge
    from retime.film.speed import Rate, Speed

__all__ = ["Counted", "Measure", "OurReel", "Side", "Terms"]

_FRAME = re.compile(r"\d{1,9}", re.ASCII)
_FEET = re.compile(r"(\d{1,7})\s*\+\s*(\d{1,3})", re.ASCII)
_HINT = "write a frame's number, feet+frames such as 39+14, or a label such as 01:00:10:00"


class Side(StrEnum):
    """Which of an event's two spans of time tells the frames of the scan."""

    SOURCE = "source"
    RECORD = "record"


class Measure(StrEnum):
    """What a place in a list is counted in."""

    FRAMES = "frames"
    LABELS = "labels"
    FEET = "feet and frames"


class Counted(NamedTuple):
    """A place in a list: so many frames from 0 of its measure."""

    measure: Measure
    frames: int


class OurReel(Struct, frozen=True, kw_only=True):
    """A reel of ours: which of its scan's frames are picture, and its gauge.

    ``last`` is None where that is not known; ``gauge`` likewise.
    """

    name: str
    first: int = 0
    last: int | None = None
    gauge: Gauge | None = None


class Terms(Struct, frozen=True, kw_only=True):
    """What is known beside a list.

    ``reels`` are ours by name, in playing order, and empty where no map says them. ``called`` are
    names of ours by those that the list uses; ``only`` is the reel that all of it is of.
    ``starts`` are the labels of the scans' frames 0 and ``zeros`` the scan frames at which feet
    count 0+00, by reels of ours; those under None hold for the rest. ``speed`` is that at which a
    transfer that the list was made of ran, film frames a second, None where it holds a film frame
    in every frame.
    """

    rate: Rate | None = None
    side: Side = Side.SOURCE
    speed: Speed | None = None
    footage: Footage = Footage.NOMINAL
    gauge: Gauge | None = None
    reels: Mapping[str, OurReel] = field(default_factory=dict)
    called: Mapping[str, str] = field(default_factory=dict)
    only: str | None = None
    starts: Mapping[str | None, str] = field(default_factory=dict)
    zeros: Mapping[str | None, int] = field(default_factory=dict)

    def reel(self, listed: str) -> str | None:
        """Return the name of our reel that a list calls ``listed``, None if there is none.

        With no reels known, a reel is called as the list calls it.
        """
        if self.only is not None:
            return self.only
        name = listed.strip()
        folded = {one.upper(): ours for one, ours in self.called.items()}
        if name.upper() in folded:
            return folded[name.upper()]
        if not self.reels:
            return name or None
        if name in self.reels:
            return name
        return self._written_as(name)

    def _written_as(self, name: str) -> str | None:
        """Return the reel whose name EDLs write so, or that has the same number."""
        for ours, written in edl_names(self.reels).items():
            if written.upper() == name.upper():
                return ours
        if name.isdecimal() and name.isascii():
            for ours in self.reels:
                numbered = ours.isdecimal() and ours.isascii()
                if numbered and ours.lstrip("0") == name.lstrip("0"):
                    return ours
        return None

    def known(self, reel: str) -> OurReel:
        """Return what is known of a reel of ours."""
        return self.reels.get(reel) or OurReel(name=reel, gauge=self.gauge)

    def counted(self, text: str, reel: str) -> Counted:
        """Read a place: a frame's number, a label, or feet and frames.

        Raises NotationError for what is none of them, and where rate or gauge is not known.
        """
        written = text.strip()
        feet = _FEET.fullmatch(written)
        if feet:
            return Counted(Measure.FEET, self._of_feet(written, feet, reel))
        if looks_like_a_label(written):
            if self.rate is None:
                hint = "say it by --rate, such as --rate 24"
                raise NotationError(f"{shown(text)} needs to know the rate it counts", hint)
            at = frame_at(written, self.rate, drop=marked_drop(written))
            return Counted(Measure.LABELS, at)
        if not _FRAME.fullmatch(written):
            raise NotationError(f"{shown(text)} is no place in a scan", _HINT)
        return Counted(Measure.FRAMES, int(written))

    def _of_feet(self, text: str, feet: re.Match[str], reel: str) -> int:
        length = SpokenLength(
            amount=Fraction(int(feet[1])),
            unit=LengthUnit.FEET_AND_FRAMES,
            text=text,
            frames_over=int(feet[2]),
        )
        return int(length.frames(self.known(reel).gauge or self.gauge, self.footage))

    def scan_frame(self, place: Counted, reel: str) -> int:
        """Return the scan frame that a place is, or the one that a span before it leaves out.

        Raises NotationError where that lies before the scan's first.
        """
        frame = self._from_zero(place, reel)
        if frame < 0:
            start = self._start_text(reel)
            before = f"its start, {start}" if place.measure is Measure.LABELS else "its start"
            text = f"this lies {-frame} frames before the scan of reel {reel} begins, at {before}"
            raise NotationError(text, "say where a scan begins by --start")
        if place.measure is Measure.LABELS and self.speed is not None and self.rate is not None:
            return half_up(frame * self.speed.fps / self.rate.fps)
        return frame

    def _from_zero(self, place: Counted, reel: str) -> int:
        match place.measure:
            case Measure.FRAMES:
                return place.frames
            case Measure.FEET:
                zeros = self.zeros
                return place.frames + zeros.get(reel, zeros.get(None, self.known(reel).first))
            case Measure.LABELS:
                return place.frames - self._start(reel)

    def _start_text(self, reel: str) -> str:
        return self.starts.get(reel, self.starts.get(None, "00:00:00:00"))

    def _start(self, reel: str) -> int:
        text = self._start_text(reel)
        if self.rate is None:
            return 0
        return frame_at(text, self.rate, drop=marked_drop(text))
