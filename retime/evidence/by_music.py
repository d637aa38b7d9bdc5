"""Scores and cue sheets: how long their pieces last, and what footage goes with them."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.evidence.by_speed import told_speed
from retime.evidence.families import LENGTH, NUMBER, TIME
from retime.evidence.figures import Figure
from retime.evidence.model import Implied, Measure, Yardstick
from retime.evidence.quantity import exactly, within
from retime.evidence.score import Section, Standing, fit_score
from retime.film.clock import clock

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.document import CueSheetSection, MusicSection, PieceSection, ScoreSection
    from retime.evidence.item_reader import ItemReader
    from retime.evidence.quantity import Quantity
    from retime.evidence.score import ScoreFit

__all__ = ["Music", "cue_sheet", "score"]

_SIXTY = 60
_PLACED = ("length", "shots")
_OF_PRINT = ("length", "absent", "added")


class Music(Struct, frozen=True, kw_only=True):
    """What a document of music implies, and how its pieces fit together if they have lengths."""

    implied: tuple[Implied, ...] = ()
    fit: ScoreFit | None = None


def score(section: ScoreSection, reader: ItemReader) -> Music:
    """Return what the sections of a score imply."""
    return _pieces(section, section.sections, reader, "sections", "")


def cue_sheet(section: CueSheetSection, reader: ItemReader) -> Music:
    """Return what a cue sheet's times imply, and the speed printed on it."""
    if section.cues is None and section.speed is None:
        reader.tell("kinds", "a cue sheet tells its cues, a speed, or both", "write one of them")
        return Music()
    both = section.cues is not None and section.speed is not None
    printed: tuple[Implied, ...] = ()
    if section.speed is not None:
        printed = told_speed(section.speed, reader, "printed speed" if both else "", alone=both)
    if section.cues is None:
        reader.beside(section, "speed", ("common", *_OF_PRINT))
        return Music(implied=printed)
    cues = _pieces(section, section.cues, reader, "cues", "timings" if both else "")
    if both and not (printed and cues.implied):
        return Music()
    return Music(implied=cues.implied + printed, fit=cues.fit)


def _pieces(
    section: MusicSection, pieces: Sequence[PieceSection], reader: ItemReader, key: str, part: str
) -> Music:
    """Return what pieces under ``key`` imply: each by its own footage, or all by the print's."""
    times = [_time(piece, reader, key, at) for at, piece in enumerate(pieces)]
    placed = [any(getattr(piece, one) is not None for one in _PLACED) for piece in pieces]
    if not any(placed):
        return _against_print(section, times, reader, part)
    reader.beside(section, key, _OF_PRINT)
    if not all(placed):
        what = "this piece has neither a length nor shots, and others have"
        reader.tell("music", what, "give them to all or to none", key, placed.index(False))
        return Music()
    lengths = [_length(piece, reader, key, at) for at, piece in enumerate(pieces)]
    sections = [
        Section(name=piece.name, frames=frames, seconds=time)
        for piece, frames, time in zip(pieces, lengths, times, strict=True)
        if frames is not None and time is not None
    ]
    return _fitted(section, sections, part) if len(sections) == len(pieces) else Music()


def _against_print(
    section: MusicSection, times: Sequence[Quantity | None], reader: ItemReader, part: str
) -> Music:
    """Return what the sum of all times implies."""
    frames, told = reader.length(), [time for time in times if time is not None]
    if frames is None or len(told) < len(times):
        return Music()
    total = sum(told, start=exactly(Fraction(0)))
    return Music(
        implied=(
            Implied(
                speed=_common(section, frames / total),
                said=f"{len(told)} pieces, {_told(total.value)} together",
                part=part,
                yardstick=Yardstick(measure=Measure.TIME, factor=frames.value, inverse=True),
            ),
        )
    )


def _fitted(section: MusicSection, sections: Sequence[Section], part: str) -> Music:
    """Return the speed that is common to the sections that fit together."""
    fit = fit_score(sections)
    fitting = [one.section for one in fit.sections if one.standing is Standing.FITS]
    frames = sum(one.frames.value for one in fitting)
    seconds = sum(one.seconds.value for one in fitting)
    implied = Implied(
        speed=_common(section, fit.speed),
        said=f"{len(fitting)} of {len(sections)} pieces, {_told(Fraction(seconds))} together",
        part=part,
        yardstick=Yardstick(measure=Measure.TIME, factor=Fraction(frames), inverse=True),
    )
    return Music(implied=(implied,), fit=fit)


def _common(section: MusicSection, speed: Quantity) -> Quantity:
    """Return a speed that all times may be wrong about alike, as by a slow conductor."""
    return speed if section.common is None else speed * within(Fraction(1), section.common.of)


def _time(piece: PieceSection, reader: ItemReader, key: str, at: int) -> Quantity | None:
    """Return how many seconds a piece lasts: its time, or that of its bars."""
    given = reader.only(piece, ("time", "bars"), key, at)
    if given == "time" and piece.time is not None:
        reader.beside(piece, given, ("beats", "mark"), key, at)
        told = reader.main(piece.time, TIME, key, at, "time")
        return None if told is None else told.quantity
    if given is None or piece.bars is None:
        return None
    if piece.beats is None or piece.mark is None:
        what = "bars are timed by the beats of each and the metronome's mark"
        reader.tell("music", what, "write bars: 32, beats: 4, mark: 84", key, at, "bars", key=True)
        return None
    beats = piece.bars * piece.beats
    if piece.mark.bounded:
        told = reader.main(piece.mark, NUMBER, key, at, "mark")
        return None if told is None else exactly(_SIXTY * beats) / told.quantity
    seconds = _SIXTY * beats / piece.mark.first
    figure = Figure(text=f"{piece.mark.text}, for {beats} beats,", first=seconds)
    told = reader.main(figure, TIME, key, at, "mark")
    return None if told is None else told.quantity


def _length(piece: PieceSection, reader: ItemReader, key: str, at: int) -> Quantity | None:
    """Return how many frames a piece goes with."""
    if reader.only(piece, _PLACED, key, at) is None:
        return None
    if piece.length is not None:
        return reader.other(piece.length, LENGTH, key, at, "length")
    return reader.shots(str(piece.shots), key, at, "shots")


def _told(seconds: Fraction) -> str:
    return clock(seconds).removesuffix(".000")
