"""What follows the picture: sound, subtitles and chapters of a deliverable; a score to be met."""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.speedmap.place import NOWHERE, Where

if TYPE_CHECKING:
    from retime.film.notation import SpokenSpeed
    from retime.speedmap.model import ShotKey

__all__ = [
    "ChapterSource",
    "Follows",
    "Mark",
    "MeetCue",
    "Meeting",
    "Pitch",
    "Recording",
    "Subtitles",
]


class Pitch(StrEnum):
    """What becomes of a recording's pitch where its time changes."""

    MOVES = "moves"
    """It goes with the time, as a tape's that is run faster."""
    KEPT = "kept"
    """It stays: the sound is stretched."""


class Follows(Struct, frozen=True, kw_only=True):
    """Whose time something keeps; one of the four.

    A deliverable's (``deliverable``), a version's true time (``version``), that of a transfer of
    all reels at one ``speed``, or ``frames``: film frames themselves.
    """

    text: str
    deliverable: str | None = None
    version: str | None = None
    speed: SpokenSpeed | None = None
    frames: bool = False


class Recording(Struct, frozen=True, kw_only=True):
    """A sound file that is brought along; ``file`` is relative to the map's folder.

    ``follows`` is None for one that was made to this very deliverable: its first sample is then
    the film's first frame, or the label ``at``. ``offset`` is how many seconds later it comes,
    on its own clock; ``gain`` is in dB. ``language`` is a code of ISO 639-2.
    """

    file: str
    follows: Follows | None = None
    pitch: Pitch = Pitch.MOVES
    at: str | None = None
    offset: Fraction = Fraction(0)
    gain: Fraction | None = None
    language: str | None = None
    where: Where = NOWHERE


class Subtitles(Struct, frozen=True, kw_only=True):
    """A file of subtitles; ``follows`` and ``offset`` are as for a recording.

    ``gap`` is the least that is kept between two cues, in seconds, None for what the file has.
    ``fastest`` is the most characters a second that are no finding, None for any.
    """

    file: str
    follows: Follows | None = None
    offset: Fraction = Fraction(0)
    gap: Fraction | None = None
    fastest: Fraction | None = None
    language: str | None = None
    where: Where = NOWHERE


class ChapterSource(StrEnum):
    """What chapters begin with."""

    REELS = "reels"
    SHOTS = "shots"
    TITLES = "titles"


class Mark(Struct, frozen=True, kw_only=True):
    """A chapter or marker: the first showing of a shot, of a reel, or of a film frame of it."""

    name: str
    shot: ShotKey | None = None
    reel: str | None = None
    frame: int | None = None
    where: Where = NOWHERE


class MeetCue(Struct, frozen=True, kw_only=True):
    """A shot that is to begin ``time`` seconds into a recorded score, ``within`` so many."""

    shot: ShotKey
    time: Fraction
    within: Fraction = Fraction(0)
    where: Where = NOWHERE


class Meeting(Struct, frozen=True, kw_only=True):
    """A recorded score that a version's speeds are made to meet.

    ``slowest`` and ``fastest`` bound the speeds; ``smooth`` lets them change as little as the
    cues' tolerances allow, rather than at every cue. The score begins with the film; ``end`` is
    the time of the film's end in it, None where the last speed goes on to there.
    """

    cues: tuple[MeetCue, ...]
    slowest: SpokenSpeed
    fastest: SpokenSpeed
    smooth: bool = False
    end: Fraction | None = None
    where: Where = NOWHERE
