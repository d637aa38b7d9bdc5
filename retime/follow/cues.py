"""Cues: subtitles with exact times, and what is odd in how they follow one another."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from retime.film.clock import clock
from retime.findings import Finding, Severity
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from fractions import Fraction

    from retime.findings import Place, TextPlace

__all__ = ["MOST_TOLD", "Cue", "named", "order_findings", "shifted", "told", "warning"]

MOST_TOLD = 20
"""So many warnings of one rule are told singly; one more says how many follow."""


class Cue(Struct, frozen=True, kw_only=True):
    """A subtitle from ``begin`` to ``end``, exact seconds on its own clock, the end not included.

    ``text`` is plain, without markup. ``index`` is its block in the document it was read from,
    counted from 0; several cues may have one where film plays again. ``inner`` are further times
    inside it, such as WebVTT's timestamps, in the order of the file. A ``hidden`` cue is never
    shown: a comment that has a time.
    """

    begin: Fraction
    end: Fraction
    text: str
    index: int
    place: TextPlace
    inner: tuple[Fraction, ...] = ()
    hidden: bool = False

    @property
    def times(self) -> tuple[Fraction, ...]:
        """Return all of its times: the begin, the end, then those inside."""
        return self.begin, self.end, *self.inner


def shifted(cues: Iterable[Cue], offset: Fraction) -> tuple[Cue, ...]:
    """Return the cues ``offset`` seconds later; what is then before 0 is for a map to leave out."""
    return tuple(
        replace(
            cue,
            begin=cue.begin + offset,
            end=cue.end + offset,
            inner=tuple(time + offset for time in cue.inner),
        )
        for cue in cues
    )


def named(words: str) -> str:
    """Return a cue's words as a message shows them."""
    return quoted(" ".join(words[:200].split())) if words else "a cue without words"


def warning(place: Place, rule: str, text: str, hint: str = "") -> Finding:
    """Return what is only told."""
    return Finding(place=place, rule=rule, text=text, hint=hint, severity=Severity.WARNING)


def told(findings: Sequence[Finding], what: str) -> Iterator[Finding]:
    """Yield the first findings of one rule, and one that says how many more ``what`` there are."""
    yield from findings[:MOST_TOLD]
    beyond = findings[MOST_TOLD:]
    if beyond:
        yield warning(beyond[0].place, beyond[0].rule, f"there are {len(beyond)} more {what}")


def order_findings(cues: Sequence[Cue]) -> tuple[Finding, ...]:
    """Return warnings for cues that come before the one above them, overlap, or last no time."""
    shown = [cue for cue in cues if not cue.hidden]
    return (
        *told([*_unsorted(shown)], "cues out of order"),
        *told([*_overlapping(shown)], "cues that overlap"),
        *told([*_timeless(shown)], "cues that last no time"),
    )


def _unsorted(cues: Sequence[Cue]) -> Iterator[Finding]:
    for before, cue in pairwise(cues):
        if cue.begin < before.begin:
            text = f"{named(cue.text)} begins at {clock(cue.begin)}, before the cue above it"
            hint = f"that begins at {clock(before.begin)}"
            yield warning(cue.place, "cue-order", text, hint)


def _overlapping(cues: Sequence[Cue]) -> Iterator[Finding]:
    latest: Cue | None = None
    for cue in sorted(cues, key=lambda one: one.begin):
        if latest is not None and cue.begin < latest.end:
            before = f"{clock(latest.end - cue.begin)} before {named(latest.text)} ends"
            text = f"{named(cue.text)} begins {before}"
            yield warning(cue.place, "cue-overlap", text)
        if latest is None or cue.end > latest.end:
            latest = cue


def _timeless(cues: Sequence[Cue]) -> Iterator[Finding]:
    for cue in cues:
        if cue.begin == cue.end:
            yield warning(cue.place, "cue-length", f"{named(cue.text)} ends when it begins")
