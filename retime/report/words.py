"""Figures of a report in the words in which a table tells them."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from retime.plan.timeline import Even
from retime.report.numbers import decimal
from retime.report.stretches import cadence_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from retime.edition.edition import Making
    from retime.plan.drift import Drift
    from retime.plan.plan import Plan
    from retime.plan.timeline import Stretch
    from retime.report.lengths import Length
    from retime.report.paces import ReelPaces

__all__ = [
    "cadences_said",
    "drift_said",
    "length_said",
    "ms_said",
    "rate_said",
    "runs_said",
    "scanning_said",
    "speeds_said",
]

_MOST = 3  # speeds or cadences told one by one in a row
_READABLE = 100  # a speed of a smaller denominator is told as a fraction
_LONGEST_SHOWN = 11  # run lengths


def scanning_said(making: Making) -> str:
    """Return how frames are scanned and made, led by a comma; plain repeats need no word."""
    plan, told = making.plan, ""
    if making.deliverable.pulldown is not None:
        told += f", {making.scanning}, 24 carried {making.deliverable.pulldown}"
    elif making.scanning.interlaced:
        told += f", {making.scanning}, cadence in {'fields' if plan.carry.in_fields else 'frames'}"
    if plan.window is not None:
        told += ", blended" + (f" over {plan.window} of a frame" if plan.window != 1 else "")
    return told


def rate_said(plan: Plan) -> str:
    """Return the rate, and what it is laid out at where that is another."""
    conform = plan.conform
    if conform.run_change == 1:
        return f"{conform.rate} fps"
    return f"laid out at {conform.at}, run at {conform.rate} fps ({conform.cents:+.2f} cents)"


def speeds_said(paces: ReelPaces, plan: Plan) -> str:
    """Return the speeds of a reel as it is seen, or the span of many."""
    found, run = paces.speeds, plan.conform.run_change
    if len(found) > _MOST:
        return f"{_fps(found[0] * run)}..{_fps(found[-1] * run)} ({len(found)} speeds)"
    return ", ".join(_fps(speed * run) for speed in found) or "held"


def _fps(fps: Fraction) -> str:
    return str(fps) if fps.denominator < _READABLE else decimal(fps, 3)


def cadences_said(paces: ReelPaces, plan: Plan) -> str:
    """Return the cadences of a reel, the most used first, as many as can be read."""
    shown, more = paces.longest(_MOST)
    told = [_cadence(plan, stretch) for stretch in shown]
    return "\n".join(told) + (f"\nand {more} more" if more else "")


def _cadence(plan: Plan, stretch: Stretch) -> str:
    cadence = cadence_of(plan, stretch)
    if cadence is None:
        if plan.window is not None:
            return "blend"
        return "none" if isinstance(stretch.pace, Even) else "ramp"
    runs = runs_said(cadence.runs)
    if cadence.slips_every is None:
        return runs
    noun = {1: "frames", 2: "fields"}.get(plan.carry.per_frame, "pictures")
    return f"near {runs}, slips every {decimal(cadence.slips_every, 1)} {noun}"


def runs_said(runs: Sequence[int]) -> str:
    """Return run lengths as ``1:1:2``, long ones shortened: ``2:1x23`` is a 2 and then 23 ones."""
    if len(runs) <= _LONGEST_SHOWN:
        return ":".join(map(str, runs))
    grouped = [(run, len(list(same))) for run, same in groupby(runs)]
    return ":".join(str(run) if times == 1 else f"{run}x{times}" for run, times in grouped)


def drift_said(drift: Drift | None) -> str:
    """Return a deliverable's drift in a sentence."""
    if drift is None:
        return "a blend has none"
    frames = decimal(drift.largest, 3)
    if drift.largest.denominator < _READABLE * 10:
        frames = str(drift.largest)
    return (
        f"at most {drift.largest_ms:.3f} ms ({frames} of an output frame), "
        f"rms {drift.rms_ms:.3f} ms, {ms_said(drift.end)} at the end"
    )


def length_said(length: Length) -> str:
    """Return a length, and how many frames to the foot were taken."""
    per_foot = "gauges mix"
    if length.per_foot is not None:
        per_foot = f"{_fps(length.per_foot)} frames to the foot"
    return f"{decimal(length.feet, 1)} ft, {decimal(length.metres, 1)} m ({per_foot})"


def ms_said(seconds: Fraction) -> str:
    """Return a signed time in milliseconds."""
    sign = "+" if seconds > 0 else ""
    return f"{sign}{decimal(seconds * 1000, 3)} ms"
