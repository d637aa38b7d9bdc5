"""The report as plain values: ``retime-report/1``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from retime.film.clock import clock
from retime.film.speed import Speed
from retime.film.timecode import label
from retime.plan.drift import drift_of
from retime.plan.timeline import Eased, Shows
from retime.render.route import route_of
from retime.report.following import following_values
from retime.report.lengths import length_of
from retime.report.numbers import exact, is_short, measured, milliseconds, said
from retime.report.rasters import raster_values
from retime.report.stretches import Passage, cadence_of, passages

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from retime.edition.edition import Edition, Making
    from retime.plan.drift import Drift
    from retime.plan.plan import Plan
    from retime.plan.timeline import Reel

__all__ = ["FORMAT", "report_values"]

FORMAT = "retime-report/1"


def report_values(edition: Edition) -> dict[str, Any]:
    """Return all that is known of an edition's deliverables, ready for JSON."""
    speed_map = edition.speed_map
    return {
        "format": FORMAT,
        "film": speed_map.film,
        "gauge": speed_map.gauge.name,
        "map_sha256": speed_map.sha256,
        "deliverables": [_deliverable(edition, making) for making in edition.makings],
    }


def _deliverable(edition: Edition, making: Making) -> dict[str, Any]:
    plan, deliverable = making.plan, making.deliverable
    counts, drift, choice = plan.counts(), drift_of(plan), route_of(making)
    true = plan.timeline.duration
    return {
        "name": making.name,
        "version": deliverable.version,
        "profile": making.profile.name,
        "method": str(deliverable.method),
        "phase": str(deliverable.phase),
        "rate": str(plan.conform.rate),
        "conform_at": str(plan.conform.at),
        "run_change": str(plan.conform.run_change),
        "run_change_cents": round(plan.conform.cents, 3),
        "scanning": str(making.scanning),
        **_carried(making),
        "route": str(choice.route) if choice.route else None,
        "reason": choice.reason,
        "source_frames": counts.source,
        "output_frames": plan.total,
        **_led(making),
        "repeated": counts.repeated,
        "dropped": counts.dropped,
        "held": counts.held,
        **({"inserted": counts.inserted} if counts.inserted else {}),
        "blended": counts.blended,
        "raster": raster_values(making),
        "length": _length(edition, plan.timeline.reels),
        "runtime": {
            **_time(plan.total_runtime),
            "timecode": _timecode(making, plan.total),
            "drop_frame": making.drop_frame,
        },
        **({"start_timecode": _timecode(making, making.start)} if making.start else {}),
        "true_runtime": _time(true),
        **_solved(edition, making),
        "drift": _drift(drift),
        "reels": _reels(edition, plan, drift),
        **following_values(edition, making),
        "stretches": [_stretch(making, passage) for passage in passages(plan)],
    }


def _led(making: Making) -> dict[str, Any]:
    """Return what stands before and after the film, and where the film itself lies."""
    plan = making.plan
    if not (plan.head or plan.tail):
        return {}
    first = plan.head_frames
    film = {"output_first": first, "output_last": first + plan.outputs - 1}
    return {
        "head_frames": first,
        "tail_frames": plan.total - first - plan.outputs,
        "film": {
            **film,
            "runtime": {
                **_time(plan.runtime),
                "timecode": _timecode(making, plan.outputs),
                "drop_frame": making.drop_frame,
            },
        },
    }


def _length(edition: Edition, reels: Sequence[Reel]) -> dict[str, Any]:
    length = length_of(edition.speed_map, reels)
    per_foot = None if length.per_foot is None else str(length.per_foot)
    told: dict[str, Any] = {"frames_per_foot": per_foot}
    told |= {"feet": measured(length.feet), "metres": measured(length.metres)}
    return told if is_short(length.metres) else {**told, "exact": False}


def _solved(edition: Edition, making: Making) -> dict[str, Any]:
    """Return the speed that was solved from a runtime, if one was."""
    duration = edition.solved.get(making.deliverable.version)
    return {} if duration is None else {"solved_speed": said(fps=1 / duration)}


def _time(seconds: Fraction) -> dict[str, Any]:
    return {**said(seconds=seconds), "text": clock(seconds)}


def _timecode(making: Making, frame: int) -> str | None:
    rate = making.plan.conform.rate
    if rate.nominal.fps.denominator != 1:
        return None
    return label(frame, rate, drop=making.drop_frame)


def _carried(making: Making) -> dict[str, Any]:
    """Return what the fields of an interlaced deliverable carry, and what its counts count."""
    deliverable, plan = making.deliverable, making.plan
    told: dict[str, Any] = {}
    if making.scanning.interlaced:
        told["cadence_in"] = "fields" if plan.carry.per_frame > 1 else "frames"
        told["counted_in"] = "fields" if plan.carry.in_fields else "frames"
    if deliverable.pulldown is not None:
        told["pulldown"] = str(deliverable.pulldown)
    if plan.window is not None:
        told["window"] = str(plan.window)
    return told


def _drift(drift: Drift | None) -> dict[str, Any] | None:
    if drift is None:
        return None
    return {
        "max_ms": round(drift.largest_ms, 3),
        "max_frames": exact(drift.largest),
        **({} if is_short(drift.largest) else {"exact": False}),
        "rms_ms": round(drift.rms_ms, 3),
        "end_ms": milliseconds(drift.end),
    }


def _reels(edition: Edition, plan: Plan, drift: Drift | None) -> list[dict[str, Any]]:
    ends = drift.reel_ends if drift else [None] * len(plan.timeline.reels)
    holes = {
        scan.reel.name: [[run[0], run[-1]] for run in scan.missing_runs] for scan in edition.scans
    }
    return [
        {
            "reel": reel.name,
            "output_first": first // 2,
            "output_last": (stop - 1) // 2,
            "drift_end_ms": None if end is None else milliseconds(end),
            "length": _length(edition, [reel]),
            **(
                {"missing": reel.missing, "missing_frames": holes[reel.name]}
                if reel.missing
                else {}
            ),
        }
        for reel, (first, stop), end in zip(
            plan.timeline.reels, plan.reel_fields(), ends, strict=True
        )
    ]


def _missing(count: int, runs: Sequence[Sequence[int]]) -> dict[str, Any]:
    return {"missing": count, "missing_frames": runs}


def _stretch(making: Making, passage: Passage) -> dict[str, Any]:
    plan = making.plan
    first, last = (
        None if frame is None else making.told(passage.reel, frame)
        for frame in (passage.first, passage.last)
    )
    told: dict[str, Any] = {
        "reel": passage.reel,
        "first": first,
        "last": last,
        **_speed(plan, passage),
        "cadence": None,
    }
    cadence = cadence_of(plan, passage.stretch)
    if cadence is not None:
        if cadence.slips_every is None:
            told["cadence"] = str(cadence)
        else:
            told["nearest"] = str(cadence)
            told["slips_every"] = exact(cadence.slips_every)
        told |= {"film_frames": cadence.film_frames, "output_per_cycle": cadence.outputs}
    return {**told, "output_first": passage.output_first, "output_last": passage.output_last}


def _speed(plan: Plan, passage: Passage) -> dict[str, Any]:
    """Return the speed of a passage, or what stands in its place."""
    stretch, conform = passage.stretch, plan.conform
    if stretch.inset:
        shows = stretch.plate.address if stretch.plate else str(stretch.shows)
        return {"speed": None, "inset": {"shows": shows, **said(seconds=passage.lasts)}}
    if stretch.again:
        return {"speed": None, "loop": said(seconds=passage.lasts)}
    if isinstance(stretch.pace, Eased):
        ramp = stretch.pace.ramp
        ends = {"from": ramp.first, "to": ramp.last}
        return {
            "speed": {key: str(end) for key, end in ends.items()},
            "effective_speed": {
                key: exact(conform.effective(end).fps) for key, end in ends.items()
            },
        }
    lasts = stretch.pace.elapsed(stretch.count)
    if stretch.shows is not Shows.FILM:
        return {"speed": None, "hole": {"shows": str(stretch.shows), **said(seconds=lasts)}}
    if stretch.hold:
        return {"speed": None, "hold": said(seconds=lasts)}
    speed = Speed(1 / stretch.pace.duration)
    return said(speed=speed.fps, effective_speed=conform.effective(speed).fps)
