"""What holds for a deliverable as a whole, in figures and sentences, from the report's values."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple

from retime.film.clock import clock
from retime.report.following import rows_of
from retime.report.lengths import length_of
from retime.report.numbers import decimal, signed
from retime.report.rasters import raster_said
from retime.report.words import length_said, scanning_said

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from retime.edition.edition import Edition, Making

__all__ = ["Sum", "figures_of", "kind_said", "rows_of_making"]


class Sum(NamedTuple):
    """A figure under its name, with what else belongs to it."""

    name: str
    figure: str
    notes: list[str]


def kind_said(making: Making, told: Mapping[str, Any]) -> str:
    """Return what kind of deliverable it is in a line."""
    blend = making.plan.window is not None
    return (
        f"Version {told['version']}, profile {told['profile']}, {told['rate']} fps "
        f"{told['scanning']}{'' if blend else ', repeats'}, {told['phase']} phase"
        f"{scanning_said(making).replace(f', {making.scanning}', '', 1)}"
    )


def figures_of(making: Making, told: Mapping[str, Any]) -> Iterator[Sum]:
    """Yield the main figures."""
    plan = making.plan
    runtime = told["runtime"]
    labelled = "drop-frame" if runtime["drop_frame"] else "timecode"
    notes = [f"{runtime['timecode']} {labelled}"] if runtime["timecode"] else []
    notes.append(f"{told['output_frames']:,} output frames")
    yield Sum("Runtime", runtime["text"], notes)
    late = plan.runtime - plan.timeline.duration
    beside = "exactly kept" if not late else f"the film here is {_off(late)}"
    yield Sum("True runtime", told["true_runtime"]["text"], [beside])
    yield Sum("Rate", f"{told['rate']} fps", list(_conformed(told)))
    yield Sum("Pitch", *_pitch(told))
    yield Sum("Film frames", f"{told['source_frames']:,}", list(_became(making, told)))
    yield _drift(told["drift"])


def _off(late: Fraction) -> str:
    if abs(late) < 1:
        return f"{decimal(abs(late) * 1000, 3)} ms {'longer' if late > 0 else 'shorter'}"
    return f"{clock(abs(late))} {'longer' if late > 0 else 'shorter'}"


def _conformed(told: Mapping[str, Any]) -> Iterator[str]:
    if told["run_change"] == "1":
        yield "laid out and run at it: run change 1"
        return
    yield f"laid out at {told['conform_at']} fps"
    change = 100 * (Fraction(told["run_change"]) - 1)
    yield f"run change {told['run_change']} ({signed(float(change), 4)} %)"


def _pitch(told: Mapping[str, Any]) -> tuple[str, list[str]]:
    cents = told["run_change_cents"]
    if not cents:
        return "unchanged", ["nothing runs at another rate"]
    return f"{signed(cents, 2)} cents", ["of sound that is run with the picture"]


def _became(making: Making, told: Mapping[str, Any]) -> Iterator[str]:
    """Yield what became of the film frames; repeats and holds are fields where these count."""
    unit = " fields" if making.plan.carry.in_fields else ""
    yield f"{told['repeated']:,}{unit} repeated"
    yield f"{told['held']:,}{unit} held, {told['dropped']:,} dropped"
    if told.get("inserted"):
        yield f"{told['inserted']:,}{unit} put in"
    if told["blended"]:
        yield f"{told['blended']:,} blends"


def _drift(drift: Mapping[str, Any] | None) -> Sum:
    if drift is None:
        return Sum("Drift", "none", ["a blend has none"])
    largest = drift["max_frames"]
    if len(largest) > len("9999/10000"):
        largest = decimal(Fraction(largest), 3)
    return Sum(
        "Drift",
        f"at most {drift['max_ms']:.3f} ms",
        [
            f"{largest} of an output frame",
            f"rms {drift['rms_ms']:.3f} ms, {signed(drift['end_ms'], 3)} ms at the end",
        ],
    )


def rows_of_making(
    edition: Edition, making: Making, told: Mapping[str, Any]
) -> Iterator[tuple[str, str]]:
    """Yield what else is told, each under its name."""
    plan = making.plan
    yield "route", f"{told['route'] or 'none'}: {told['reason']}"
    yield "length", length_said(length_of(edition.speed_map, plan.timeline.reels))
    if "film" in told:
        around = (
            f"after {told['head_frames']:,} and before {told['tail_frames']:,} of head and tail"
        )
        film = told["film"]["runtime"]["text"]
        yield "film", f"{film}, {plan.outputs:,} output frames, {around}"
    if told.get("start_timecode"):
        yield "first label", told["start_timecode"]
    if "solved_speed" in told:
        yield "solved speed", f"{decimal(Fraction(told['solved_speed']['fps']), 6)} fps"
    if raster := raster_said(making):
        yield "raster", raster
    yield from rows_of(edition, making, told)
    for one in told.get("sound", ()):
        if filled := list(_silences(one)):
            yield "sound", f"{one['file']}: {', '.join(filled)}"


def _silences(sound: Mapping[str, Any]) -> Iterator[str]:
    """Yield where a track has nothing to sound, and what of it is not heard."""
    for key, words in (
        ("silence_before", "of silence before it"),
        ("silence_between", "of silence within it"),
        ("silence_after", "of silence after it"),
        ("left_out_before", "left out at its beginning"),
        ("left_out_after", "left out at its end"),
    ):
        seconds = Fraction(sound[key])
        if seconds:
            yield f"{decimal(seconds, 3)} s {words}"
