"""The subtitles of a deliverable: read, carried to its time, and judged."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import DocumentError
from retime.findings import Finding, TextPlace
from retime.follow.cues import shifted
from retime.follow.reading_speed import ReadingSpeed, reading_speeds, too_fast
from retime.follow.retiming import RetimeLimits, retimed
from retime.follow.subtitle_files import read_subtitles
from retime.follow.subtitles_list import read_film_cues
from retime.plan.timemap import Leg, TimeMap, clock_of, true_clock

if TYPE_CHECKING:
    from pathlib import Path

    from retime.edition.edition import Edition, Making
    from retime.follow.cues import Cue
    from retime.follow.film_cues import FilmCueList
    from retime.follow.subtitle_document import SubtitleDocument
    from retime.speedmap.following import Subtitles

__all__ = ["Subtitled", "subtitled_of"]


class Subtitled(Struct, frozen=True, kw_only=True):
    """One file of subtitles on a deliverable's time; ``findings`` are warnings.

    ``speeds`` are how fast its cues are read, before and after.
    """

    subtitles: Subtitles
    document: SubtitleDocument | FilmCueList
    cues: tuple[Cue, ...]
    speeds: tuple[ReadingSpeed, ...]
    findings: tuple[Finding, ...]

    @property
    def ending(self) -> str:
        """What a file of them ends in: language and kind."""
        own = self.document.path.suffix.lower().removeprefix(".")
        kind = "srt" if own == "csv" else own
        language = self.subtitles.language
        return f"{language}.{kind}" if language else kind


def subtitled_of(
    edition: Edition, making: Making, part: tuple[Fraction, Fraction] | None = None
) -> tuple[Subtitled, ...]:
    """Return a deliverable's subtitles, or those of a part of its time.

    Raises DocumentError for files that cannot be read, each mistake at its place in them.
    """
    return tuple(_subtitled(edition, making, one, part) for one in making.deliverable.subtitles)


def _subtitled(
    edition: Edition,
    making: Making,
    subtitles: Subtitles,
    part: tuple[Fraction, Fraction] | None,
) -> Subtitled:
    path = edition.speed_map.folder / subtitles.file
    time_map = _time_map(making, subtitles)
    if part is not None:
        time_map = time_map.part(*part)
    document: SubtitleDocument | FilmCueList
    if edition.frames is not None and subtitles.follows is not None and subtitles.follows.frames:
        document = _read_frames(path, subtitles)
        before: tuple[Cue, ...] = ()
        cues, wrong = document.placed(edition.frames, true_clock(), edition.siftings)
        if wrong:
            raise DocumentError(wrong)
    else:
        document = _read(path, subtitles)
        before = document.cues
        cues = shifted(document.cues, subtitles.offset)
    limits = RetimeLimits(
        gap=subtitles.gap or Fraction(0),
        shortest=1 / making.plan.conform.rate.fps,
        slack=document.resolution / 2,
    )
    made, told = retimed(cues, time_map, limits)
    speeds = reading_speeds(before, made)
    findings = [*document.findings, *told]
    if subtitles.fastest is not None:
        findings += too_fast(speeds, subtitles.fastest)
    return Subtitled(
        subtitles=subtitles,
        document=document,
        cues=made,
        speeds=speeds,
        findings=tuple(findings),
    )


def _time_map(making: Making, subtitles: Subtitles) -> TimeMap:
    """Return the map of what subtitles follow, or of those made to this deliverable's film."""
    if subtitles.follows is not None:
        return making.courses[subtitles.follows.text]
    plan = making.plan
    begin, end = clock_of(plan).start, plan.total_runtime
    return TimeMap(legs=(Leg(begin, end, Fraction(0), end - begin),), duration=end)


def _read(path: Path, subtitles: Subtitles) -> SubtitleDocument:
    try:
        return read_subtitles(path)
    except DocumentError as error:
        raise _placed(error, subtitles) from error


def _read_frames(path: Path, subtitles: Subtitles) -> FilmCueList:
    try:
        return read_film_cues(path)
    except DocumentError as error:
        raise _placed(error, subtitles) from error


def _placed(error: DocumentError, subtitles: Subtitles) -> DocumentError:
    """Place what is wrong with a file as a whole where the map names it."""
    found = [
        one
        if isinstance(one.place, TextPlace) and one.place.line
        else Finding(
            place=subtitles.where.of("file"),
            rule=one.rule,
            text=f"{one.place}: {one.text}",
            hint=one.hint,
        )
        for one in error.findings
    ]
    return DocumentError(found)
