"""The maps of time from what is followed to a deliverable that follows it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from retime.film.speed import Speed
from retime.plan.timemap import Clock, carried, clock_of, true_clock

if TYPE_CHECKING:
    from retime.plan.plan import Plan
    from retime.plan.timeline import Timeline
    from retime.plan.timemap import TimeMap
    from retime.speedmap.following import Follows
    from retime.speedmap.model import Deliverable

__all__ = ["Planned", "courses_of"]

_ONE = Speed(true_clock().run)


class Planned(Protocol):
    """Whoever plans an edition."""

    def plan_named(self, deliverable: str) -> Plan:
        """Return a deliverable's plan."""

    def timeline_named(self, version: str) -> Timeline:
        """Return a version's timeline."""

    def timeline_at(self, follows: Follows, speed: Speed | None) -> Timeline:
        """Return all reels as scanned at one speed; None for the one that is spoken."""


def courses_of(deliverable: Deliverable, plan: Plan, planned: Planned) -> dict[str, TimeMap]:
    """Return the map from each time that a deliverable's sound and subtitles keep, by its name.

    The time of another deliverable begins with the first frame of its film, whatever stands
    before it; that of film frames counts one a second.
    """
    followed = [one.follows for one in deliverable.sound]
    followed += [one.follows for one in deliverable.subtitles]
    return {
        follows.text: _course(follows, plan, planned) for follows in followed if follows is not None
    }


def _course(follows: Follows, plan: Plan, planned: Planned) -> TimeMap:
    clock = true_clock()
    if follows.deliverable is not None:
        other = planned.plan_named(follows.deliverable)
        source = other.timeline
        clock = Clock(start=clock.start, run=clock_of(other).run)
    elif follows.version is not None:
        source = planned.timeline_named(follows.version)
    else:
        source = planned.timeline_at(follows, _ONE if follows.frames else None)
    return carried(plan.timeline, clock_of(plan), source, clock, plan.total_runtime)
