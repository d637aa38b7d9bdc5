"""Parts of deliverables: a reel, shots, or from one place to another.

A part is what the whole would have there, frame for frame: it is cut out of the whole's plan.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import CommandError, NotationError
from retime.film.gauge import Footage, frames_per_foot
from retime.film.length import feet_and_frames, parse_length
from retime.film.rounding import floor_of
from retime.film.timecode import day_of, frame_of
from retime.speedmap.footage import gauge_of
from retime.speedmap.shotkeys import shot_keys
from retime.yamldoc.quoting import listed, quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.edition.edition import Edition, Making

__all__ = ["Part", "part_outputs"]

_FOOTAGE = re.compile(r"\s*\d+\s*\+\s*\d+", re.ASCII)
_SOME = re.compile(r"[1-9]")  # a length is above 0, and a place may be 0+00
_UNFIT = re.compile(r"[^\w.+-]+")


class Part(Struct, frozen=True, kw_only=True):
    """What was asked for: a reel or shots, and within it ``begin`` up to and without ``end``.

    ``begin`` and ``end`` are labels of the deliverable, or feet and frames from the first frame
    of picture of ``reel``, or of the first reel.
    """

    reel: str | None = None
    shots: str | None = None
    begin: str | None = None
    end: str | None = None

    @property
    def said(self) -> str:
        """The part in words."""
        pairs = (
            ("reel", self.reel),
            ("shots", self.shots),
            ("from", self.begin),
            ("to", self.end),
        )
        return ", ".join(f"{name} {value}" for name, value in pairs if value is not None)

    @property
    def suffix(self) -> str:
        """What is added to the name of a file that holds the part."""
        return "." + _UNFIT.sub("-", self.said.replace(", ", "_").replace(":", "."))


def part_outputs(edition: Edition, making: Making, part: Part) -> range:
    """Return which output frames of a deliverable a part is.

    An output frame that also shows a field of its neighbour belongs to both. Raises CommandError
    where there is no such part, or it does not play in one piece.
    """
    whole = range(making.plan.total)
    within = whole
    if part.reel is not None:
        others = {reel.name for reel in edition.speed_map.others}
        within = _reel_outputs(making, part.reel, others)
    if part.shots is not None:
        within = _within(within, _shot_outputs(edition, making, part.shots), part)
    begin = within.start if part.begin is None else _output_at(edition, making, part, part.begin)
    end = within.stop if part.end is None else _output_at(edition, making, part, part.end)
    return _within(within, range(begin, end), part)


def _within(outer: range, inner: range, part: Part) -> range:
    found = range(max(outer.start, inner.start), min(outer.stop, inner.stop))
    if not found:
        raise CommandError(f"nothing plays in {part.said}")
    return found


def _reel_outputs(making: Making, name: str, others: set[str]) -> range:
    """Return where a reel plays; frames of ``others`` that are put into it do not divide it."""
    plan = making.plan
    names = [reel.name for reel in plan.timeline.reels]
    places = [number for number, one in enumerate(names) if one == name]
    if not places:
        known = listed(dict.fromkeys(names))
        raise CommandError(f"reel {quoted(name)} does not play in {making.name}", f"it has {known}")
    if not set(names[places[0] : places[-1] + 1]) <= {name, *others}:
        text = f"reel {name} plays in {len(places)} pieces in {making.name}"
        raise CommandError(text, "say --from and --to")
    bounds = plan.reel_fields()
    return _frames(bounds[places[0]][0], bounds[places[-1]][1])


def _shot_outputs(edition: Edition, making: Making, text: str) -> range:
    keys = [shot.key for shot in edition.speed_map.shots]
    try:
        first, last = shot_keys(text, keys)
    except NotationError as error:
        raise CommandError(error.text, error.hint) from error
    for key in (first, last):
        if key not in keys:
            raise CommandError(f"there is no shot {quoted(str(key))}")
    wanted = set(keys[keys.index(first) : keys.index(last) + 1])
    bounds = making.plan.unit_fields()
    numbers = [number for number, key in _units(making) if key in wanted and number in bounds]
    if not numbers:
        raise CommandError(f"{text} does not play in {making.name}")
    between = [key for number, key in _units(making) if numbers[0] < number < numbers[-1]]
    if any(key is not None and key not in wanted for key in between):
        raise CommandError(f"{text} does not play in one piece in {making.name}", "say less")
    return _frames(bounds[numbers[0]][0], bounds[numbers[-1]][1])


def _units(making: Making) -> Iterator[tuple[int, tuple[str, str] | None]]:
    """Yield every unit's number, and the key of the shot that it is, if it is one."""
    timeline = making.plan.timeline
    for number, unit in enumerate(timeline.units):
        yield number, (unit.shot and (timeline.reels[unit.reel].name, unit.shot)) or None


def _frames(first: int, stop: int) -> range:
    """Return the output frames that fields lie in."""
    return range(first // 2, (stop + 1) // 2)


def _output_at(edition: Edition, making: Making, part: Part, text: str) -> int:
    """Return the output frame that a label or feet and frames name."""
    try:
        if _FOOTAGE.match(text):
            return _output_of_footage(edition, making, part, text)
        rate = making.plan.conform.rate
        number = frame_of(text, rate)
        day = day_of(rate, drop=making.drop_frame)
    except NotationError as error:
        raise CommandError(error.text, error.hint) from error
    if (";" in text) is not making.drop_frame:
        kind = "drop-frame" if making.drop_frame else "not drop-frame"
        raise CommandError(f"{quoted(text)}: the labels of {making.name} are {kind}")
    output = (number - making.start) % day
    if output > making.plan.total:
        raise CommandError(f"{text} is no label of {making.name}")
    return output


def _output_of_footage(edition: Edition, making: Making, part: Part, text: str) -> int:
    """Return the first output frame that shows a film frame, or the next one of its reel.

    The output frame after the reel's last where that frame, or all after it, do not play. Raises
    CommandError for a place past the reel's end.
    """
    timeline = making.plan.timeline
    name = part.reel or timeline.reels[0].name
    reel = edition.speed_map.reel(name)
    footage = edition.speed_map.footage or Footage.NOMINAL
    wanted = reel.first
    if _SOME.search(text):
        spoken = parse_length(text)
        gauge = gauge_of(edition.speed_map, reel)
        wanted += floor_of(spoken.frames(gauge, footage))
        end = next(one.last for one in edition.scans if one.reel.name == name) + 1
        if wanted > end:
            length = feet_and_frames(end - reel.first, frames_per_foot(gauge, footage))
            raise CommandError(f"{text.strip()} is past the end of reel {name}, which is {length}")
    nearest: tuple[int, int] | None = None  # a film frame, and where it is first shown
    output = stop = 0
    for times, fields in making.plan.pictures():
        for one in (shown for look in fields for shown in look):
            if one.frame is None or one.reel is None or timeline.reels[one.reel].name != name:
                continue
            stop = output + times
            if one.frame >= wanted and (nearest is None or one.frame < nearest[0]):
                nearest = one.frame, output
        output += times
    return stop if nearest is None else nearest[1]
