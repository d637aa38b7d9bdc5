"""What a look is, in words: reel, frame and shot, or what stands there instead."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from retime.check.match import Sight
    from retime.edition.edition import Making
    from retime.plan.look import Look, Part

__all__ = ["look_said", "sight_said"]


def look_said(making: Making, look: Look) -> str:
    """Return what is shown: ``reel 1, frame 130 (shot 1/4)``, several joined by a plus sign."""
    return " + ".join(_part_said(making, part) for part in look)


def sight_said(making: Making, sight: Sight | None) -> str:
    """Return what was found instead."""
    if sight is None:
        return "nothing of the film that could be found"
    if sight.look is not None:
        return look_said(making, sight.look)
    told = sight.frame
    if sight.reel is not None and sight.frame is not None:
        told = making.told(sight.reel, sight.frame)
    return f"reel {sight.reel}, frame {told}"


def _part_said(making: Making, part: Part) -> str:
    timeline = making.plan.timeline
    if part.unit is None:
        return "a head or tail" if part.plate is None else f"{part.plate.address} beside the film"
    if part.frame is None:
        return "black" if part.plate is None else part.plate.address
    unit = timeline.units[part.unit]
    name = timeline.reels[unit.reel].name
    shot = "" if unit.shot is None else f" (shot {name}/{unit.shot})"
    return f"reel {name}, frame {making.told(name, part.frame)}{shot}"
