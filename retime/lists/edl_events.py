"""What an EDL says, as values: edits, their sources, their transitions, their speeds.

The names are those of the published form (SMPTE ST 258:2004, Transfer of Edit Decision Lists,
and the CMX 3600 form that it grew from; from memory).
"""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct, field

from retime.findings import TextPlace

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from retime.film.speed import Rate
    from retime.findings import Finding

__all__ = ["AUXILIARY", "BLACK", "UNWRITTEN", "Edit", "Edl", "Effect", "Span", "SpeedLine"]

BLACK = frozenset({"BL", "BLACK"})
"""Sources that are black."""
AUXILIARY = frozenset({"AX", "AUX"})
"""Sources that are no tape: a camera, a title generator, a file."""
UNWRITTEN = TextPlace(path=Path("list"))
"""The place of what was made by a program and stands in no file."""


class Effect(StrEnum):
    """How an edit begins."""

    CUT = "C"
    DISSOLVE = "D"
    WIPE = "W"
    KEY_BACKGROUND = "KB"
    """The picture that lies behind a key."""
    KEY = "K"
    """A picture keyed over the background."""
    KEY_OUT = "KO"
    """The key is taken away."""


class Span(Struct, frozen=True):
    """Labels from ``first`` up to ``stop``, which is excluded, counted as frames.

    ``drop`` says which count the labels are of. A source that runs backwards may be written with
    ``stop`` below ``first``; it then begins with ``first`` too, and ``stop`` is excluded.
    """

    first: int
    stop: int
    drop: bool = False

    @property
    def frames(self) -> int:
        """How many frames the span has, whichever way it runs."""
        return abs(self.stop - self.first)

    @property
    def lowest(self) -> int:
        """The lowest of its frames."""
        return self.first if self.stop >= self.first else self.stop + 1


class SpeedLine(Struct, frozen=True, kw_only=True):
    """An M2 line: source frames per second of record time, from the label ``at`` on."""

    reel: str
    speed: Fraction
    at: int
    place: TextPlace = UNWRITTEN


class Edit(Struct, frozen=True, kw_only=True):
    """One line of events with what belongs to it.

    Two edits in a row of one ``number`` are one event of two sources: what is left, and what
    comes. ``lasts`` is a transition's length in record frames, None for a cut; ``wipe`` the number
    of a wipe's pattern; ``faded`` marks a key's background that is faded.
    """

    number: int
    reel: str
    source: Span
    record: Span
    channel: str = "V"
    effect: Effect = Effect.CUT
    wipe: int | None = None
    lasts: int | None = None
    faded: bool = False
    speed: SpeedLine | None = None
    remarks: tuple[str, ...] = ()
    place: TextPlace = UNWRITTEN

    @property
    def has_picture(self) -> bool:
        """Whether the edit is of picture: V, and B for picture with the first sound."""
        return self.channel.startswith(("V", "B")) or "V" in self.channel.split("/")

    @property
    def is_black(self) -> bool:
        """Whether the source is black."""
        return self.reel.upper() in BLACK

    @property
    def is_auxiliary(self) -> bool:
        """Whether the source is no tape."""
        return self.reel.upper() in AUXILIARY

    def said(self, *keys: str) -> str | None:
        """Return what a remark says after one of the keys and a colon, None if none does."""
        for key in keys:
            for remark in self.remarks:
                head, colon, text = remark.partition(":")
                if colon and head.strip().upper() == key and text.strip():
                    return text.strip()
        return None


class Edl(Struct, frozen=True, kw_only=True):
    """A whole list; ``heading`` are remarks before the first event.

    ``drop`` is what its first line FCM says, None where there is none. ``others`` are lines of
    kinds that say nothing of picture (SPLIT, GPI, AUD and the like), kept as they are. ``findings``
    are warnings.
    """

    rate: Rate
    title: str = ""
    drop: bool | None = None
    heading: tuple[str, ...] = ()
    edits: tuple[Edit, ...] = ()
    others: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = field(default=())

    def events(self) -> Iterator[tuple[Edit, ...]]:
        """Yield the edits of one event after the other."""
        gathered: list[Edit] = []
        for edit in self.edits:
            if gathered and gathered[-1].number != edit.number:
                yield tuple(gathered)
                gathered = []
            gathered.append(edit)
        if gathered:
            yield tuple(gathered)
