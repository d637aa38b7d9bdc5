"""How fast subtitles must be read: characters a second, before and after.

Every character that a viewer sees counts one, spaces and signs included, markup not; a line break
and any run of spaces count as one space, those at the ends not at all, and an accent that is
written apart goes with its letter. That is common practice: guides that count otherwise differ by
the spaces only.
"""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.film.rounding import half_up
from retime.follow.cues import named, told, warning

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from retime.findings import Finding
    from retime.follow.cues import Cue

__all__ = ["PUBLISHED", "PublishedSpeed", "ReadingSpeed", "letters", "reading_speeds", "too_fast"]


class PublishedSpeed(Struct, frozen=True, kw_only=True):
    """A limit that somebody published, in characters a second."""

    per_second: int
    what: str
    source: str


_SUMMARY = "quoted second-hand in summaries of subtitle-speed research"
_STREAMING = "a streaming style guide, quoted second-hand in a translators' forum"
PUBLISHED = (
    PublishedSpeed(
        per_second=12,
        what='the "six-second rule": two full lines of 37 to 39 characters in six seconds',
        source="from memory; also the slowest of the eye-tracking study at 12, 16 and 20",
    ),
    PublishedSpeed(
        per_second=15,
        what="160 to 180 words a minute; 180 are about 15 characters a second",
        source="BBC Subtitle Guidelines, section 4, Timing",
    ),
    PublishedSpeed(per_second=16, what="an eye-tracking study at 12, 16 and 20", source=_SUMMARY),
    PublishedSpeed(per_second=17, what="programmes for adults", source=_STREAMING),
    PublishedSpeed(per_second=20, what="English for adults", source=_STREAMING),
)
"""Limits to choose from; none is taken unless it is asked for."""


class ReadingSpeed(Struct, frozen=True, kw_only=True):
    """A cue's characters a second, on its own clock before and on the deliverable's after.

    Each is None where the cue lasts no time, or was not timed in seconds before.
    """

    cue: Cue
    letters: int
    before: Fraction | None
    after: Fraction | None


def letters(words: str) -> int:
    """Return how many characters are read in a cue's plain words."""
    return sum(not unicodedata.combining(letter) for letter in " ".join(words.split()))


def reading_speeds(before: Sequence[Cue], after: Sequence[Cue]) -> tuple[ReadingSpeed, ...]:
    """Return the reading speed of every cue that is shown in ``after`` and has words.

    ``before`` are the cues as read, found by their ``index``; empty for those on film frames.
    """
    were = {cue.index: cue for cue in before}
    counted = ((cue, letters(cue.text)) for cue in after if not cue.hidden)
    return tuple(
        ReadingSpeed(
            cue=cue,
            letters=count,
            before=_speed(count, were.get(cue.index)),
            after=_speed(count, cue),
        )
        for cue, count in counted
        if count
    )


def _speed(count: int, cue: Cue | None) -> Fraction | None:
    return count / (cue.end - cue.begin) if cue is not None and cue.end > cue.begin else None


def too_fast(speeds: Sequence[ReadingSpeed], most: Fraction) -> tuple[Finding, ...]:
    """Return warnings for cues that must now be read faster than ``most`` characters a second.

    One that was as fast before is the source's affair, and is not told.
    """
    return tuple(told(list(_too_fast(speeds, most)), "cues that are too fast"))


def _too_fast(speeds: Sequence[ReadingSpeed], most: Fraction) -> Iterator[Finding]:
    for one in speeds:
        slow = one.after is not None and one.after <= most
        if slow or (one.before is not None and one.after is not None and one.after <= one.before):
            continue
        now = "in no time" if one.after is None else f"at {_shown(one.after)} characters a second"
        was = f", {_shown(one.before)} before" if one.before is not None else ""
        text = f"{named(one.cue.text)} must be read {now}{was}"
        yield warning(one.cue.place, "reading-speed", text, f"at most {_shown(most)}")


def _shown(speed: Fraction) -> str:
    """Return a speed to one decimal, half up."""
    whole, tenths = divmod(half_up(10 * speed), 10)
    return f"{whole}.{tenths}"
