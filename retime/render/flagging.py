"""Which pictures repeat flags code, and for how many fields each of them is shown."""

from __future__ import annotations

from bisect import bisect_left
from itertools import accumulate
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from retime.plan.repeat_flags import groups, spread, why_not

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator

    from retime.edition.edition import Making
    from retime.plan.look import Look
    from retime.plan.plan import Lead, Plan
    from retime.plan.timeline import Timeline
    from retime.profile.disc import Disc

__all__ = ["Flagging", "flagging_of", "with_chapters"]

_MOST = 3  # fields that one coded picture is shown for


class Flagging(Struct, frozen=True, kw_only=True):
    """``pictures`` are what is coded: looks, and how often in a row each has to be.

    ``runs`` are the fields of every coded picture, ``starts`` those that begin a group.
    """

    pictures: tuple[tuple[int, Look], ...]
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
    if making.deliverable.burn:
        return "what is burnt in changes with every output frame"
    shown = [(look, _spread(fields, again=again)) for look, fields, again in _shown(plan)]
    refusal = why_not(run for _, runs in shown for run in runs)
    return refusal or _flagging(disc, shown)


def _flagging(disc: Disc, shown: list[tuple[Look, tuple[int, ...]]]) -> Flagging:
    runs = tuple(run for _, coded in shown for run in coded)
    firsts, number, reel = {0}, 0, None
    for look, coded in shown:
        here = look[0].reel
        if here != reel:
            firsts.add(number)
            reel = here
        number += len(coded)
    return Flagging(
        pictures=tuple((len(coded), look) for look, coded in shown),
        runs=runs,
        starts=frozenset(groups(runs, disc.group_fields, firsts)),
    )


def with_chapters(flagging: Flagging, disc: Disc, fields: Collection[int]) -> Flagging:
    """Return the flagging with a group at the first picture that begins at each field or later."""
    begins = list(accumulate(flagging.runs, initial=0))
    firsts = {bisect_left(begins, field) for field in fields}
    reels = flagging.starts | {first for first in firsts if first < len(flagging.runs)}
    return replace(flagging, starts=frozenset(groups(flagging.runs, disc.group_fields, reels)))


def _shown(plan: Plan) -> Iterator[tuple[Look, int, bool]]:
    """Yield each film frame in order with its fields, and whether it may be coded again.

    It may where it is held, at the end of its shot, which is filled up with it, and where it is
    no film frame.
    """
    again = _held(plan.timeline) | {
        (number, unit.last) for number, unit in enumerate(plan.timeline.units)
    }
    yield from _led(plan.head)
    pulse, total = 0, plan.pieces[-1].pulse_stop
    for times, look in plan.looks():
        first = plan.carry.first_field(pulse)
        pulse += times
        stop = 2 * plan.outputs if pulse == total else plan.carry.first_field(pulse)
        yield look, stop - first, (look[0].unit, look[0].frame) in again
    yield from _led(plan.tail)


def _led(leads: Iterable[Lead]) -> Iterator[tuple[Look, int, bool]]:
    """Yield what stands before or after the film."""
    for lead in leads:
        for times, (look,) in lead.pictures():
            yield look, 2 * times, True


def _held(timeline: Timeline) -> set[tuple[int, int | None]]:
    """Return the frames, by shot, that the map shows longer than their speed does.

    What is no film frame is one of them, and a loop's.
    """
    return {
        (stretch.unit, stretch.frame(slot))
        for stretch in timeline.stretches
        if stretch.held
        for slot in range(stretch.count if stretch.again else 1)
    }


def _spread(fields: int, *, again: bool) -> tuple[int, ...]:
    """Return the fields of each picture that codes one film frame, ``again`` if it has to."""
    return spread(fields) if again and fields > _MOST else (fields,)
