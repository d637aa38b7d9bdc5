"""A transfer's cadence for programs: ``retime-detection/1``, and its JSON Schema."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema
from typing_extensions import TypedDict

from retime.report.detected_words import overall_said, ratio_said, remarks
from retime.signal.shown import Kind, films_shown, speed_of

if TYPE_CHECKING:
    from retime.detect.detection import Detection
    from retime.signal.shown import Stretch

__all__ = ["DetectionTold", "detected_values", "detection_schema"]


class MixingTold(TypedDict):
    """Picture k of the stretch stands at film position (start + k film_frames)/outputs."""

    rule: Literal["between", "nearly", "window"]
    mixed_in: Literal["codes", "light", "untold"]
    film_frames: int
    outputs: int
    start: int


class StretchTold(TypedDict):
    """Pictures ``first`` to ``last``, both included, and the film frames that they show.

    ``runs`` are those of a cycle, in ``unit``, from the first picture's film frame on, of which
    ``phase`` have gone by; null where no cycle comes again, but for irregular stretches, whose runs
    are told in full. ``film_frames_per_cycle`` and ``output_per_cycle`` are in lowest terms for a
    mixture. ``speed`` is in film frames a second at the rate that the file says, a fraction.
    """

    first: int
    last: int
    kind: Literal["new", "repeats", "fields", "mixed", "still", "irregular"]
    name: str
    unit: Literal["frames", "fields"]
    order: Literal["top-first", "bottom-first"] | None
    runs: list[int] | None
    phase: int
    film_frames_per_cycle: int | None
    output_per_cycle: int | None
    speed: str | None
    film_first: int
    film_last: int
    also_new: list[int]
    also_same: list[int]
    mixing: MixingTold | None
    confidence: float


class SpanTold(TypedDict):
    """Pictures ``first`` to ``last``, both included."""

    first: int
    last: int


class OnFilmTold(SpanTold):
    """Film frames printed more than once; ``runs`` are of pictures that differ."""

    runs: list[int]
    phase: int
    confidence: float


class LeapsTold(TypedDict):
    """Pictures before which a film frame seems to be left out."""

    places: list[int]
    every: int | None
    confidence: float


class DetectionTold(TypedDict):
    """All that was found in a transfer; ``rate_said`` and ``order_said`` are its header's words."""

    format: Literal["retime-detection/1"]
    file: str
    first: int
    frames: int
    rate_said: str | None
    order_said: str | None
    digest: str
    film_frames: int
    summary: str
    remarks: list[str]
    stretches: list[StretchTold]
    stills: list[SpanTold]
    on_film: list[OnFilmTold]
    leaps: list[LeapsTold]


_RULES: dict[str, Literal["between", "nearly", "window"]] = {
    "BETWEEN": "between",
    "NEARLY": "nearly",
    "WINDOW": "window",
}


def detection_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a detection."""
    schema = TypeAdapter(DetectionTold).json_schema()
    return schema | {"$schema": GenerateJsonSchema.schema_dialect, "title": "retime-detection/1"}


def detected_values(found: Detection) -> DetectionTold:
    """Return what was found as plain values."""
    return {
        "format": "retime-detection/1",
        "file": str(found.file),
        "first": found.first,
        "frames": found.frames,
        "rate_said": None if found.rate_said is None else str(found.rate_said),
        "order_said": found.order_said,
        "digest": found.digest,
        "film_frames": found.film_frames,
        "summary": overall_said(found),
        "remarks": list(remarks(found)),
        "stretches": [_stretch(one, found) for one in found.stretches],
        "stills": [{"first": first, "last": last} for first, last in found.stills],
        "on_film": [
            {
                "first": one.first,
                "last": one.last,
                "runs": list(one.runs),
                "phase": one.phase,
                "confidence": one.confidence,
            }
            for one in found.on_film
        ],
        "leaps": [
            {"places": list(one.places), "every": one.every, "confidence": one.confidence}
            for one in found.leaps
        ],
    }


def _stretch(one: Stretch, found: Detection) -> StretchTold:
    upper, lower = films_shown([one])
    cyclic = one.kind in {Kind.REPEATS, Kind.FIELDS, Kind.NEW}
    film, outputs = (len(one.runs), sum(one.runs)) if cyclic else (None, None)
    mixing: MixingTold | None = None
    if one.mixing is not None:
        film, outputs = one.mixing.film_frames, one.mixing.outputs
        mixing = {
            "rule": _RULES[one.mixing.rule.name],
            "mixed_in": one.mixing.space.value,
            "film_frames": film,
            "outputs": outputs,
            "start": one.mixing.start,
        }
    steady = film is not None and found.rate_said is not None
    order: Literal["top-first", "bottom-first"] | None = None
    if one.top_first is not None:
        order = "top-first" if one.top_first else "bottom-first"
    return {
        "first": one.first,
        "last": one.last,
        "kind": one.kind.value,
        "name": ratio_said(one, found.rate_said),
        "unit": "fields" if one.kind is Kind.FIELDS else "frames",
        "order": order,
        "runs": list(one.runs) if cyclic or one.kind is Kind.IRREGULAR else None,
        "phase": one.phase,
        "film_frames_per_cycle": film,
        "output_per_cycle": outputs,
        "speed": str(speed_of(one) * (found.rate_said or 1)) if steady else None,
        "film_first": one.film,
        "film_last": int(max(upper.max(), lower.max())),
        "also_new": [odd.picture for odd in one.odd if odd.is_new],
        "also_same": [odd.picture for odd in one.odd if not odd.is_new],
        "mixing": mixing,
        "confidence": one.confidence,
    }
