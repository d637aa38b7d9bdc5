"""Which rule governs each stretch of a version: the nearest wins.

For the pace: a rule for the single shot, then one for a run of shots, then (for titles) that for
titles, then the reel's, then the version's. A ramp spans all that its rule is written for: a shot,
the frames from a run's first to its last, a reel, the whole film. A title inside a run that ramps
keeps the title rule's speed, though its frames are counted in the ramp. Of two runs that share a
shot, one of which is inherited then, the later in the version's list holds for it.

For the limits: the shot's own rule, then (for titles) that for titles; the three go together, so
that a nearer ``for`` is never at odds with a farther ``at least``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from msgspec import Struct

from retime.film.notation import SpokenRamp
from retime.film.speed import Ramp, Speed
from retime.speedmap.footage import speed_on
from retime.speedmap.model import Limits, Reel, Shot, ShotKey, ShotKind, ShotRule

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from fractions import Fraction

    from retime.speedmap.assembly import Plate
    from retime.speedmap.model import SpeedMap, SpokenPace, Version

__all__ = ["Free", "Pace", "RampPart", "Segment", "Steady", "governing"]


class Steady(Struct, frozen=True, kw_only=True):
    """One speed throughout."""

    speed: Speed


class RampPart(Struct, frozen=True, kw_only=True):
    """Part of a ramp over ``count`` frames; ``index`` is the segment's first among them."""

    ramp: Ramp
    index: int
    count: int


class Free(Struct, frozen=True, kw_only=True):
    """The one speed of a version that is told by its runtime, to be solved for."""


Pace: TypeAlias = Steady | RampPart | Free


class Segment(Struct, frozen=True, kw_only=True):
    """A stretch of one reel under one rule: a shot, or frames in no shot.

    ``reel`` is the reel's name, ``first`` and ``last`` are film frames of it, both inclusive.
    ``kind`` is ``action`` for frames in no shot. The limits are seconds of true time. ``loop`` is
    how many frames play back and forth where it is held, None for a frame that stands still.
    ``plate`` plays in its place, for its time. ``name`` is that of frames that were put in.
    """

    reel: str
    first: int
    last: int
    shot: Shot | None
    kind: ShotKind
    pace: Pace
    at_least: Fraction | None = None
    at_most: Fraction | None = None
    exactly: Fraction | None = None
    loop: int | None = None
    plate: Plate | None = None
    name: str | None = None

    @property
    def count(self) -> int:
        """How many film frames there are."""
        return self.last - self.first + 1


class _Piece(Struct, frozen=True, kw_only=True):
    """A stretch before its rule is known; ``at`` counts its first frame within the film."""

    reel: Reel
    first: int
    last: int
    shot: Shot | None
    at: int

    @property
    def count(self) -> int:
        return self.last - self.first + 1

    @property
    def is_title(self) -> bool:
        return self.shot is not None and self.shot.kind is ShotKind.TITLE


class _Span(Struct, frozen=True, kw_only=True):
    """Pieces that one rule is written for, from the first to the last, both inclusive."""

    first: _Piece
    last: _Piece

    @property
    def count(self) -> int:
        return self.last.at + self.last.count - self.first.at


def governing(
    speed_map: SpeedMap, version: Version, lasts: Mapping[str, int] | None = None
) -> tuple[Segment, ...]:
    """Return the version's segments in playing order.

    ``lasts`` gives the last frame of picture of each reel for which the map states neither
    ``last`` nor ``frames``. The map is one in which ``retime.speedmap.rules`` finds no error.

    Raises:
        KeyError: the last frame of a reel is not known.
        NotationError: a speed is spoken in a length that cannot be told.
    """
    pieces = tuple(_pieces(speed_map, lasts or {}))
    return tuple(_Decisions(speed_map, version, pieces).segments())


def _pieces(speed_map: SpeedMap, lasts: Mapping[str, int]) -> Iterator[_Piece]:
    """Divide the film into shots and the frames between them."""
    shots: dict[str, list[Shot]] = {reel.name: [] for reel in speed_map.reels}
    for one in speed_map.shots:
        shots[one.reel].append(one)
    at = 0
    for reel in speed_map.reels:
        known = reel.stop()
        stop = lasts[reel.name] + 1 if known is None else known
        for first, last, shot in _divided(reel.first, stop, shots[reel.name]):
            yield _Piece(reel=reel, first=first, last=last, shot=shot, at=at)
            at += last - first + 1


def _divided(start: int, stop: int, shots: list[Shot]) -> Iterator[tuple[int, int, Shot | None]]:
    here = start
    for shot in shots:
        if here < shot.first:
            yield here, shot.first - 1, None
        yield shot.first, shot.last, shot
        here = shot.last + 1
    if here < stop:
        yield here, stop - 1, None


class _Decisions:
    """One version's rules, laid out over the film's pieces."""

    def __init__(self, speed_map: SpeedMap, version: Version, pieces: tuple[_Piece, ...]) -> None:
        self._map = speed_map
        self._version = version
        self._pieces = pieces
        self._film = _Span(first=pieces[0], last=pieces[-1])
        self._reels = {
            name: _Span(first=inside[0], last=inside[-1])
            for name, inside in _by_reel(pieces).items()
        }
        at = {piece.shot.key: index for index, piece in enumerate(pieces) if piece.shot}
        self._single = {rule.first: rule for rule in version.shots if not rule.is_run}
        self._runs: dict[ShotKey, tuple[ShotRule, _Span]] = {}
        for rule in version.shots:
            if rule.is_run:
                inside = pieces[at[rule.first] : at[rule.last] + 1]
                span = _Span(first=inside[0], last=inside[-1])
                self._runs |= {piece.shot.key: (rule, span) for piece in inside if piece.shot}

    def segments(self) -> Iterator[Segment]:
        for piece in self._pieces:
            limits = self._limits(piece)
            yield Segment(
                reel=piece.reel.name,
                first=piece.first,
                last=piece.last,
                shot=piece.shot,
                kind=piece.shot.kind if piece.shot else ShotKind.ACTION,
                pace=self._pace(piece),
                at_least=limits.at_least,
                at_most=limits.at_most,
                exactly=limits.exactly,
                loop=self._loop(piece),
            )

    def _pace(self, piece: _Piece) -> Pace:
        spoken, span = self._spoken(piece)
        if spoken is None:
            return Free()
        if not isinstance(spoken, SpokenRamp):
            return Steady(speed=speed_on(self._map, piece.reel, spoken))
        ramp = Ramp(
            speed_on(self._map, span.first.reel, spoken.first),
            speed_on(self._map, span.last.reel, spoken.last),
        )
        return RampPart(ramp=ramp, index=piece.at - span.first.at, count=span.count)

    def _spoken(self, piece: _Piece) -> tuple[SpokenPace | None, _Span]:
        """Return the pace of the nearest rule, and the frames that rule is written for."""
        titles = self._version.titles
        title_speed = titles.speed if titles and piece.is_title else None
        if piece.shot is not None:
            single = self._single.get(piece.shot.key)
            if single is not None and single.pace is not None:
                return single.pace, _Span(first=piece, last=piece)
            run, span = self._runs.get(piece.shot.key, (None, self._film))
            pace = run.pace if run else None
            left_to_titles = title_speed is not None and isinstance(pace, SpokenRamp)
            if pace is not None and not left_to_titles:
                return pace, span
        if title_speed is not None:
            return title_speed, _Span(first=piece, last=piece)
        reel = self._version.reels.get(piece.reel.name)
        if reel is not None:
            return reel, self._reels[piece.reel.name]
        return self._version.speed, self._film

    def _limits(self, piece: _Piece) -> Limits:
        single = self._single.get(piece.shot.key) if piece.shot else None
        if single is not None and single.limits.given:
            return single.limits
        titles = self._version.titles
        return titles.limits if titles and piece.is_title else Limits()

    def _loop(self, piece: _Piece) -> int | None:
        """Return the nearest rule's loop; it goes by itself, apart from the limits."""
        single = self._single.get(piece.shot.key) if piece.shot else None
        if single is not None and single.loop is not None:
            return single.loop
        titles = self._version.titles
        return titles.loop if titles and piece.is_title else None


def _by_reel(pieces: tuple[_Piece, ...]) -> dict[str, list[_Piece]]:
    inside: dict[str, list[_Piece]] = {}
    for piece in pieces:
        inside.setdefault(piece.reel.name, []).append(piece)
    return inside
