"""Cues on film frames, before they have times."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from fractions import Fraction
from operator import attrgetter
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from retime.findings import Finding
from retime.follow.cues import Cue, named, told, warning
from retime.follow.subtitle_document import SubtitleKind, write_bytes
from retime.follow.subtitles_srt import srt_text
from retime.yamldoc.quoting import listed, quoted

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from retime.findings import TextPlace
    from retime.plan.timeline import Stretch, Timeline
    from retime.plan.timemap import Clock
    from retime.speedmap.sifting import Sifting

__all__ = ["FilmCue", "FilmCueList", "film_order"]


class FilmCue(Struct, frozen=True, kw_only=True):
    """A subtitle on film frames ``first`` to ``last`` of a reel, both included.

    ``index`` is its row in the list, counted from 0.
    """

    reel: str
    first: int
    last: int
    text: str
    index: int
    place: TextPlace


class FilmCueList(Struct, frozen=True, kw_only=True):
    """Cues in the order of the list; ``findings`` are its warnings. It is written as SRT."""

    path: Path
    cues: tuple[FilmCue, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def kind(self) -> SubtitleKind:
        """Return the format that the cues are written in."""
        return SubtitleKind.SRT

    @property
    def resolution(self) -> Fraction:
        """Return the smallest step of the times that are written, in seconds."""
        return Fraction(1, 1000)

    def placed(
        self, timeline: Timeline, clock: Clock, siftings: Mapping[str, Sifting]
    ) -> tuple[tuple[Cue, ...], tuple[Finding, ...]]:
        """Return the cues at the times of their frames in ``timeline``, standing on ``clock``.

        Each frame of the film plays there at most once. A cue stands from where its first frame
        begins to where its last one ends; frames at its ends that do not play are left off. The
        findings are errors: a cue none of whose frames plays, or of no reel. The order is that of
        the list. In reels with ``siftings`` cues name scan frames, and stand with the film frames
        that these show.
        """
        film = _Film(timeline, clock)
        cues: list[Cue] = []
        findings: list[Finding] = []
        for cue in self.cues:
            times = film.times(_of_film(cue, siftings.get(cue.reel)))
            if times is None:
                findings.append(film.unplaced(cue))
                continue
            begin, end = times
            cues.append(Cue(begin=begin, end=end, text=cue.text, index=cue.index, place=cue.place))
        return tuple(cues), tuple(findings)

    def write(self, path: Path, cues: Sequence[Cue]) -> None:
        """Write ``cues`` as SRT.

        Raises:
            OutputError: the file cannot be written.
        """
        write_bytes(path, self.encoded(cues))

    def encoded(self, cues: Sequence[Cue]) -> bytes:
        """Return ``cues`` as SRT in UTF-8, numbered from 1, times rounded half up."""
        return srt_text(cues).encode()


def _of_film(cue: FilmCue, sifting: Sifting | None) -> FilmCue:
    """Return a cue with the numbers of film frames, where it names scan frames."""
    if sifting is None:
        return cue
    first, last = max(0, sifting.until(cue.first)), sifting.until(cue.last)
    return cue if last < first else replace(cue, first=first, last=last)


def film_order(cues: Sequence[FilmCue]) -> tuple[Finding, ...]:
    """Return warnings for cues that come before the one above them in their reel, or overlap it."""
    unsorted: list[Finding] = []
    overlapping: list[Finding] = []
    latest: dict[str, FilmCue] = {}
    for cue in cues:
        before = latest.get(cue.reel)
        if before is not None and cue.first < before.first:
            text = f"{named(cue.text)} begins before the cue above it in reel {cue.reel}"
            unsorted.append(warning(cue.place, "cue-order", text))
        elif before is not None and cue.first <= before.last:
            text = f"{named(cue.text)} begins before {named(before.text)} ends"
            overlapping.append(warning(cue.place, "cue-overlap", text))
        if before is None or cue.last > before.last:
            latest[cue.reel] = cue
    return (*told(unsorted, "cues out of order"), *told(overlapping, "cues that overlap"))


class _Piece(NamedTuple):
    """Film frames ``first``..``last`` of a stretch."""

    first: int
    last: int
    stretch: Stretch


class _Film:
    """Where the frames of each reel play first."""

    def __init__(self, timeline: Timeline, clock: Clock) -> None:
        self._clock = clock
        self._reels: dict[str, list[_Piece]] = {reel.name: [] for reel in timeline.reels}
        for stretch in timeline.stretches:
            if stretch.fresh:
                reel = timeline.reels[timeline.units[stretch.unit].reel].name
                self._reels[reel].append(_Piece(stretch.first, stretch.last, stretch))
        for pieces in self._reels.values():
            pieces.sort(key=attrgetter("first"))

    def times(self, cue: FilmCue) -> tuple[Fraction, Fraction] | None:
        """Return when a cue begins and ends; None if none of its frames plays."""
        pieces = self._reels.get(cue.reel, [])
        low = bisect_left(pieces, cue.first, key=attrgetter("last"))
        high = bisect_right(pieces, cue.last, key=attrgetter("first")) - 1
        if low > high:
            return None
        begin = self._time(pieces[low].stretch, max(cue.first, pieces[low].first))
        end = self._time(pieces[high].stretch, min(cue.last, pieces[high].last) + 1)
        return (begin, end) if begin < end else None

    def _time(self, stretch: Stretch, frame: int) -> Fraction:
        return self._clock.at(stretch.start + stretch.pace.elapsed(frame - stretch.first))

    def unplaced(self, cue: FilmCue) -> Finding:
        """Return the error about a cue that has no time."""
        pieces = self._reels.get(cue.reel)
        if pieces is None:
            text = f"there is no reel {quoted(cue.reel)}"
            hint = f"reels: {listed(self._reels)}"
        else:
            text = f"no frame of {cue.first} to {cue.last} plays in reel {quoted(cue.reel)}"
            hint = ""
            if pieces:
                last = max(piece.last for piece in pieces)
                hint = f"it plays from {pieces[0].first} to {last}"
        return Finding(place=cue.place, rule="list", text=text, hint=hint)
