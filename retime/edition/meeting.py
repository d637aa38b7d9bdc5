"""A version's speeds found so that the picture meets a recorded score."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from retime.errors import DocumentError, NotationError
from retime.findings import Finding, Severity
from retime.plan.meeting import Between, Bound, Cue, meet
from retime.plan.passage import passage_of
from retime.speedmap.arrangement import Inserted
from retime.speedmap.decisions import Free, Steady
from retime.speedmap.footage import speed_on

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.plan import meeting as solved
    from retime.speedmap.arrangement import Item
    from retime.speedmap.following import MeetCue, Meeting
    from retime.speedmap.model import SpeedMap, Version

__all__ = ["Met", "met"]

_RULE = "meet"
_WHY = {
    Bound.FASTEST: "it is as fast as it may be",
    Bound.SLOWEST: "it is as slow as it may be",
    Bound.FIXED: "no frame before it is free to run otherwise",
    Bound.AT_ONCE: "nothing lies between it and the cue before",
    Bound.NOT_RISING: "its time is not after that of the cue before",
}


class Met(Struct, frozen=True, kw_only=True):
    """How a version meets its score: a passage a cue, the last one's end where that is told.

    ``names`` are the shots that begin at the passages' ends, or ``end``.
    """

    names: tuple[str, ...]
    passages: tuple[solved.Meeting, ...]


def met(
    speed_map: SpeedMap, version: Version, wanted: Meeting, items: Sequence[Item]
) -> tuple[tuple[Item, ...], Met, tuple[Finding, ...]]:
    """Return the items with the speeds that meet the score, how they do, and what is missed.

    Raises DocumentError for a cue that does not play, and for cues in another order than the
    film's.
    """
    cues, begin, bounds = _places(version, wanted, items)
    aims = [Cue(time=cue.time, tolerance=cue.within) for cue in cues]
    names = [str(cue.shot) for cue in cues]
    if wanted.end is not None:
        aims.append(Cue(time=wanted.end))
        names.append("end")
        bounds.append(len(items))
    starts = [0, *bounds]
    parts = [items[first:stop] for first, stop in zip(starts, bounds, strict=False)]
    between = _between(speed_map, wanted)
    passages = [passage_of(part) for part in parts]
    found = meet(begin, passages, aims, between, smooth=wanted.smooth)
    speeds = [one.speed for one in found]
    made: list[Item] = []
    for number, item in enumerate(items):
        if isinstance(item, Inserted) or not isinstance(item.pace, Free):
            made.append(item)
            continue
        at = next((k for k, stop in enumerate(bounds) if number < stop), len(bounds) - 1)
        made.append(replace(item, pace=Steady(speed=speeds[at])))
    findings = tuple(_missed(cues, wanted, found))
    return tuple(made), Met(names=tuple(names), passages=found), findings


def _places(
    version: Version, wanted: Meeting, items: Sequence[Item]
) -> tuple[list[MeetCue], Fraction, list[int]]:
    """Return the cues, when the film begins in the score, and the items that cues begin with."""
    firsts: dict[tuple[str, str], int] = {}
    for number, item in enumerate(items):
        if not isinstance(item, Inserted) and item.shot is not None:
            firsts.setdefault(item.shot.key, number)
    found: list[tuple[int, MeetCue]] = []
    for cue in wanted.cues:
        if cue.shot not in firsts:
            raise _fault(cue, f"shot {cue.shot} does not play in version {version.name}")
        place = firsts[cue.shot]
        if found and place <= found[-1][0]:
            raise _fault(cue, f"shot {cue.shot} does not come after {found[-1][1].shot}")
        found.append((place, cue))
    begin = Fraction(0)
    if found and found[0][0] == 0:
        begin = found.pop(0)[1].time
    if not found and wanted.end is None:
        where = wanted.where.of("cues")
        text = "nothing but the film's beginning is to be met, which fixes no speed"
        hint = "add a cue, or end:"
        raise DocumentError([Finding(place=where, rule=_RULE, text=text, hint=hint)])
    return [cue for _, cue in found], begin, [place for place, _ in found]


def _between(speed_map: SpeedMap, wanted: Meeting) -> Between:
    reel = speed_map.reels[0]
    try:
        return Between(
            slowest=speed_on(speed_map, reel, wanted.slowest),
            fastest=speed_on(speed_map, reel, wanted.fastest),
        )
    except NotationError as error:
        place = wanted.where.of("between")
        found = Finding(place=place, rule=_RULE, text=error.text, hint=error.hint)
        raise DocumentError([found]) from error


def _missed(
    cues: Sequence[MeetCue], wanted: Meeting, found: Sequence[solved.Meeting]
) -> Iterator[Finding]:
    """Yield a warning for every cue, and an end, that no speed within the limits meets."""
    aims = [(f"shot {cue.shot}", cue.where.of("time")) for cue in cues]
    aims.append(("the end", wanted.where.of("end")))
    for (name, place), passage in zip(aims, found, strict=False):
        if passage.bound is None:
            continue
        side = "late" if passage.late > 0 else "early"
        text = f"{name} comes {abs(float(passage.late)):.3f} s {side}"
        yield Finding(
            place=place,
            rule=_RULE,
            text=text,
            hint=_WHY[passage.bound],
            severity=Severity.WARNING,
        )


def _fault(cue: MeetCue, text: str) -> DocumentError:
    return DocumentError([Finding(place=cue.where.of("at"), rule=_RULE, text=text)])
