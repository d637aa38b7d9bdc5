"""The shape of ``retime-report/1``, and its JSON Schema."""

from __future__ import annotations

from typing import Any, NotRequired

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema
from typing_extensions import TypedDict

from retime.report.rasters import RasterTold  # noqa: TC001 - pydantic reads the annotation

__all__ = ["Report", "report_schema"]


class Length(TypedDict):
    """Fractions as texts; ``frames_per_foot`` is null where gauges mix."""

    frames_per_foot: str | None
    feet: str
    metres: str
    exact: NotRequired[bool]


class Time(TypedDict):
    """Seconds as a fraction, and as a clock tells them."""

    seconds: str
    exact: NotRequired[bool]
    text: str


class Runtime(Time):
    """A deliverable's own runtime; ``timecode`` is null where the rate has none."""

    timecode: str | None
    drop_frame: bool


class Drift(TypedDict):
    """Milliseconds, and output frames as a fraction."""

    max_ms: float
    max_frames: str
    exact: NotRequired[bool]
    rms_ms: float
    end_ms: float


class Reel(TypedDict):
    """One reel; output frames count from 0, both included.

    ``missing`` is how many film frames there is no file for, ``missing_frames`` which, run by run,
    first and last.
    """

    reel: str
    output_first: int
    output_last: int
    drift_end_ms: float | None
    length: Length
    missing: NotRequired[int]
    missing_frames: NotRequired[list[list[int]]]


class Lasting(TypedDict):
    """How long a hold lasts, in seconds."""

    seconds: str
    exact: NotRequired[bool]


class Hole(Lasting):
    """How long a hole lasts, and what stands in it."""

    shows: str


class Inset(Lasting):
    """How long an inset lasts, and what it shows: a file, or ``black``."""

    shows: str


class Film(TypedDict):
    """Where the film lies between what stands before and after it."""

    output_first: int
    output_last: int
    runtime: Runtime


class Stretch(TypedDict):
    """One stretch; ``first`` and ``last`` are null where it shows no film."""

    reel: str
    first: int | None
    last: int | None
    speed: str | dict[str, str] | None
    effective_speed: NotRequired[str | dict[str, str]]
    exact: NotRequired[bool]
    hold: NotRequired[Lasting]
    hole: NotRequired[Hole]
    loop: NotRequired[Lasting]
    inset: NotRequired[Inset]
    cadence: str | None
    nearest: NotRequired[str]
    slips_every: NotRequired[str]
    film_frames: NotRequired[int]
    output_per_cycle: NotRequired[int]
    output_first: int | None
    output_last: int | None


class Deliverable(TypedDict):
    """One deliverable; ``drift`` is null for a blend, ``route`` where a scan is away."""

    name: str
    version: str
    profile: str
    method: str
    phase: str
    rate: str
    conform_at: str
    run_change: str
    run_change_cents: float
    scanning: str
    cadence_in: NotRequired[str]
    counted_in: NotRequired[str]
    pulldown: NotRequired[str]
    window: NotRequired[str]
    route: str | None
    reason: str
    source_frames: int
    output_frames: int
    head_frames: NotRequired[int]
    tail_frames: NotRequired[int]
    film: NotRequired[Film]
    repeated: int
    dropped: int
    held: int
    inserted: NotRequired[int]
    blended: int
    raster: RasterTold | None
    length: Length
    runtime: Runtime
    start_timecode: NotRequired[str | None]
    true_runtime: Time
    solved_speed: NotRequired[dict[str, Any]]
    drift: Drift | None
    sound: NotRequired[list[dict[str, Any]]]
    subtitles: NotRequired[list[dict[str, Any]]]
    chapters: NotRequired[list[dict[str, Any]]]
    meet: NotRequired[list[dict[str, Any]]]
    reels: list[Reel]
    stretches: list[Stretch]


class Report(TypedDict):
    """The whole report."""

    format: str
    film: str
    gauge: str
    map_sha256: str
    deliverables: list[Deliverable]


def report_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a report."""
    schema = TypeAdapter(Report).json_schema()
    return schema | {"$schema": GenerateJsonSchema.schema_dialect, "title": "retime-report/1"}
