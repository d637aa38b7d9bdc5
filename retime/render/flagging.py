"""Which pictures repeat flags code, and for how many fields each of them is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.plan.repeat_flags import groups, spread, why_not
from retime.plan.timeline import Shows
from retime.render.recipe import Wanted, mix_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.edition.edition import Making
    from retime.plan.look import Look
    from retime.plan.plan import Plan
    from retime.plan.timeline import Timeline
    from retime.profile.disc import Disc

__all__ = ["Flagging", "flagging_of"]

_MOST = 3  # fields that one coded picture is shown for


class Flagging(Struct, frozen=True, kw_only=True):
    """``pictures`` are what is coded, each as often in a row as it has to be.

    ``runs`` are the fields of every coded picture, ``starts`` those that begin a group.
    """

    pictures: tuple[Wanted, ...]
    runs: tuple[int, ...]
    starts: frozenset[int]


def flagging_of(making: Making) -> Flagging | str | None:
    """Return how repeat flags carry a deliverable, or why they do not.

    None where the profile does not use them, or nothing is counted in fields.
    """
    plan, disc = making.plan, making.profile.disc
    if disc is None or not disc.repeat_flags or not plan.carry.in_fields:
        return None
    if plan.window is not None:
        return "repeat flags show whole film frames, and these are blends"
    shown = [(look, _spread(fields, again=again)) for look, fields, again in _shown(plan)]
    refusal = why_not(run for _, runs in shown for run in runs)
    return refusal or _flagging(plan, disc, shown)


def _flagging(plan: Plan, disc: Disc, shown: list[tuple[Look, tuple[int, ...]]]) -> Flagging:
    runs = tuple(run for _, coded in shown for run in coded)
    firsts, number, reel = set(), 0, None
    for look, coded in shown:
        here = plan.timeline.units[look[0].unit].reel
        if here != reel:
            firsts.add(number)
            reel = here
        number += len(coded)
    return Flagging(
        pictures=tuple(Wanted(len(coded), (mix_of(look),)) for look, coded in shown),
        runs=runs,
        starts=frozenset(groups(runs, disc.group_fields, firsts)),
    )


def _shown(plan: Plan) -> Iterator[tuple[Look, int, bool]]:
    """Yield each film frame in order with its fields, and whether it may be coded again.

    It may where it is held, and at the end of its shot, which is filled up with it.
    """
    again = _held(plan.timeline) | {
        (number, unit.last) for number, unit in enumerate(plan.timeline.units)
    }
    pulse, total = 0, plan.pieces[-1].pulse_stop
    for times, look in plan.looks():
        first = plan.carry.first_field(pulse)
        pulse += times
        stop = 2 * plan.outputs if pulse == total else plan.carry.first_field(pulse)
        yield look, stop - first, (look[0].unit, look[0].frame) in again


def _held(timeline: Timeline) -> set[tuple[int, int | None]]:
    """Return the frames, by shot, that the map holds longer than their speed does; black is one."""
    return {
        (stretch.unit, None if stretch.shows is Shows.BLACK else stretch.first)
        for stretch in timeline.stretches
        if stretch.held
    }


def _spread(fields: int, *, again: bool) -> tuple[int, ...]:
    """Return the fields of each picture that codes one film frame, ``again`` if it has to."""
    return spread(fields) if again and fields > _MOST else (fields,)
