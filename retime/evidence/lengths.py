"""How many frames parts of a print hold: lengths, runs at a speed, shots of the map, its reels."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, TypeAlias

from msgspec import Struct

from retime.errors import NotationError
from retime.evidence.families import LENGTH, SPEED, TIME
from retime.evidence.figures import Figure
from retime.evidence.quantity import Quantity, exactly
from retime.film.length import SpokenLength
from retime.speedmap.shotkeys import shot_keys
from retime.yamldoc.quoting import quoted, suggestion

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.measures import Measures
    from retime.film.notation import SpokenSpeed
    from retime.speedmap.model import Shot, SpeedMap

__all__ = ["Part", "Run", "Shots", "frames_of", "parse_part", "shots_named", "whole_of"]

_MEASURED = re.compile(r".*[0-9] *(?:ft|m|fr|frames|%)", re.DOTALL)


class Run(Struct, frozen=True, kw_only=True):
    """A part of a print told by how long it ran, and how fast."""

    time: Figure[Fraction]
    speed: Figure[SpokenSpeed]


class Shots(Struct, frozen=True):
    """A part of a print told by the map's shots: ``1/3, 2/2-2/4``."""

    text: str


Part: TypeAlias = Figure[SpokenLength] | Run | Shots


def parse_part(text: str) -> Part:
    """Read a part of a print: ``20 ft``, ``3 min at 18 fps within 10 %``, or ``1/3, 2/2-2/4``."""
    written = text.strip()
    time, at, speed = written.partition(" at ")
    if at:
        return Run(time=TIME.figure(time), speed=SPEED.figure(speed))
    try:
        return LENGTH.figure(written)
    except NotationError as error:
        if "/" in written and not _MEASURED.fullmatch(written):
            return Shots(written)
        hint = "write 20 ft, 3 min at 18 fps, or shots such as 1/3, 2/2-2/4"
        raise NotationError(error.text, hint) from error


def frames_of(part: Part, measures: Measures, shots: Sequence[Shot] | None) -> Quantity:
    """Return how many frames a part of a print holds; ``shots`` are the map's, if one is named.

    Raises:
        NotationError: it needs a convention that was not chosen, or a shot that is not there.
    """
    match part:
        case Shots():
            return exactly(shots_named(part.text, shots))
        case Run():
            return TIME.comes_to(part.time, measures) * SPEED.comes_to(part.speed, measures)
        case _:
            return LENGTH.comes_to(part, measures)


def shots_named(text: str, shots: Sequence[Shot] | None) -> Fraction:
    """Return how many frames the shots hold that a text names, each named once.

    Raises:
        NotationError: no map is named, a shot is not on it or named twice, a run falls.
    """
    if shots is None:
        raise NotationError(f"{quoted(text)} names shots of no map", "name the map: map: FILE")
    places = {shot.key: place for place, shot in enumerate(shots)}
    named: set[int] = set()
    for run in (piece.strip() for piece in text.split(",")):
        first, last = shot_keys(run, places)
        for key in (first, last):
            if key not in places:
                known = [str(one) for one in places]
                hint = suggestion(str(key), known) if known else "the map lists no shots"
                raise NotationError(f"there is no shot {quoted(str(key))}", hint)
        if places[last] < places[first]:
            raise NotationError(f"the run {run} runs backwards", f"write {last}-{first}")
        for place in range(places[first], places[last] + 1):
            if place in named:
                raise NotationError(f"shot {shots[place].key} is named twice", "name it once")
            named.add(place)
    return Fraction(sum(shots[place].last - shots[place].first + 1 for place in named))


def whole_of(speed_map: SpeedMap) -> Fraction:
    """Return how many frames of picture the reels of a map hold.

    Raises:
        NotationError: the map does not say it of every reel.
    """
    total = 0
    for reel in speed_map.reels:
        stop = reel.stop()
        if stop is None:
            what = f"the map does not say how many frames reel {reel.name} has"
            raise NotationError(what, "state the print's length, such as length: 5840 ft")
        total += stop - reel.first
    return Fraction(total)
