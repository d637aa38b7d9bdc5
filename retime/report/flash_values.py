"""Flashes as plain values: ``retime-flashes/1``.

Times are exact fractions of a second, rates exact fractions; flashes are counted in halves, areas
are parts of 1.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from retime.film.clock import clock
from retime.report.flash_words import CAUTIONS, RECKONED
from retime.report.numbers import said

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from retime.check.flash_seconds import Run
    from retime.check.flashes import Answer, FlashReport
    from retime.speedmap.model import SpeedMap

__all__ = ["FORMAT", "flash_values"]

FORMAT = "retime-flashes/1"
_PLACES = 4


def flash_values(reports: Sequence[FlashReport], speed_map: SpeedMap | None) -> dict[str, Any]:
    """Return what was found, ready for JSON; ``speed_map`` is None for a movie by itself."""
    return {
        "format": FORMAT,
        "film": None if speed_map is None else speed_map.film,
        "map_sha256": None if speed_map is None else speed_map.sha256,
        "passes": all(report.passes for report in reports),
        "reckoned_with": list(RECKONED),
        "cautions": list(CAUTIONS),
        "checked": [_checked(report) for report in reports],
    }


def _checked(report: FlashReport) -> dict[str, Any]:
    return {
        "name": report.name,
        "version": report.version,
        "rate": None if report.rate is None else str(report.rate),
        "runtime": _time(report.runtime),
        "pictures": report.pictures,
        "edges_apart": str(report.apart),
        "passes": report.passes,
        "answers": [_answer(answer) for answer in report.answers],
    }


def _answer(answer: Answer) -> dict[str, Any]:
    question = answer.question
    return {
        "kind": str(question.kind),
        "standard": str(question.standard),
        "transfer": str(question.transfer),
        "area_of": "field" if question.field else "picture",
        "passes": answer.passes,
        "worst": None if answer.worst is None else _run(answer.worst),
        "failing": [_run(run) for run in answer.failing],
        "per_second": [float(flashes) for flashes in answer.series],
    }


def _run(run: Run) -> dict[str, Any]:
    return {
        "start": _time(run.start),
        "stop": _time(run.stop),
        "flashes": float(run.flashes),
        "area": round(float(run.area), _PLACES),
        "timecode": run.timecode,
        "where": run.where or None,
    }


def _time(seconds: Fraction) -> dict[str, Any]:
    return {**said(seconds=seconds), "text": clock(seconds)}
