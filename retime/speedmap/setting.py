"""A speed written into a map: for a version, for a reel, for titles, or for shots.

A rule for shots holds for all of them: rules of the version's own that would be nearer, or stand
in its way, give way. A rule that it covers is taken out (of one that also limits, only the speed),
and a run that it covers in part keeps its other shots. A ramp is not cut, for what is left of it
would run otherwise: that is refused.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import CommandError
from retime.film.notation import SpokenRamp, parse_pace
from retime.speedmap.model import ShotKind
from retime.speedmap.naming import named_shots
from retime.speedmap.superseding import write_shot_speed
from retime.yamldoc.quoting import quoted, suggestion
from retime.yamldoc.scalars import bracketed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from retime.speedmap.lasting import Lasting
    from retime.speedmap.manuscript import Edited, Manuscript
    from retime.speedmap.model import Shot, SpeedMap, Version
    from retime.yamldoc.tree import NodePath

__all__ = ["set_reel", "set_shots", "set_titles", "set_version"]


def set_version(script: Manuscript, version: str, speed: str) -> Edited:
    """Give a version a speed of its own, in place of the one, or of the runtime, that it has."""
    parse_pace(speed)
    found = script.version(version)
    path: NodePath = ("versions", version)
    if script.text.has((*path, "meet")):
        text = f"the version {quoted(version)} takes its speeds from a score"
        raise script.text.refuse((*path, "meet"), text, "take meet out first", key=True)
    for key in ("speed", "runtime", "runtime of"):
        if script.text.has((*path, key)):
            script.text.set_value((*path, key), speed)
            if key != "speed":
                script.text.set_key((*path, key), "speed")
            break
    else:
        script.text.add(path, "speed", speed)
    return _finished(script, found, lambda _: True)


def set_reel(script: Manuscript, version: str, reel: str, speed: str) -> Edited:
    """Give a version a speed for a reel."""
    parse_pace(speed)
    found = script.version(version)
    names = [one.name for one in script.speed_map.reels]
    if reel not in names:
        raise CommandError(f"the map has no reel {quoted(reel)}", suggestion(reel, names))
    _put(script, ("versions", version, "reels"), reel, speed)
    return _finished(script, found, lambda run: run.reel == reel)


def set_titles(script: Manuscript, version: str, speed: str) -> Edited:
    """Give a version a speed for titles."""
    if isinstance(parse_pace(speed), SpokenRamp):
        raise CommandError("titles take one speed, not a ramp")
    found = script.version(version)
    titles = [shot for shot in script.speed_map.shots if shot.kind is ShotKind.TITLE]
    _put(script, ("versions", version, "titles"), "speed", speed)
    return _finished(script, found, lambda run: _inside(run, titles))


def _put(script: Manuscript, path: NodePath, key: str, speed: str) -> None:
    """Write a speed as the value of a key, in a mapping that may not be there yet."""
    if script.text.has((*path, key)):
        script.text.set_value((*path, key), speed)
    elif script.text.has(path):
        script.text.add(path, key, speed)
    else:
        script.text.add(path[:-1], str(path[-1]), bracketed({key: speed}))


def set_shots(script: Manuscript, version: str, shots: str, speed: str) -> Edited:
    """Give a version a speed for shots, ``2/3`` or ``2/3-2/7``."""
    pace = parse_pace(speed)
    found = script.version(version)
    named = named_shots(script.speed_map, shots)
    write_shot_speed(script, found, named, pace, speed)
    listed = [script.speed_map.shots[place] for place in named.places]
    return _finished(script, found, lambda run: _inside(run, listed))


def _inside(run: Lasting, shots: Iterable[Shot]) -> bool:
    return any(
        shot.reel == run.reel and shot.first <= run.first and run.last <= shot.last
        for shot in shots
    )


def _finished(script: Manuscript, version: Version, about: Callable[[Lasting], bool]) -> Edited:
    """Finish a change to a version, and so to its heirs, that is about some runs of frames."""
    heirs = [
        name
        for name, one in script.speed_map.versions.items()
        if name != version.name and _descends(script.speed_map, one, version.name)
    ]
    if heirs:
        script.notes.append(f"with it changes what inherits from it: {', '.join(heirs)}")
    mine = {version.name, *heirs}
    return script.finished(lambda one, run: one.name in mine and about(run))


def _descends(speed_map: SpeedMap, version: Version, elder: str) -> bool:
    here: Version | None = version
    while here is not None and here.like is not None:
        if here.like == elder:
            return True
        here = speed_map.versions.get(here.like)
    return False
