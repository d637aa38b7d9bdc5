"""A comparison as JSON (``retime-comparison/1``)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from msgspec import to_builtins

from retime.film.clock import clock
from retime.report.film_runs import run_told
from retime.report.numbers import said

if TYPE_CHECKING:
    from collections.abc import Iterable
    from fractions import Fraction

    from retime.edition.edition import Edition
    from retime.report.comparison import Comparison
    from retime.report.comparison_schema import ComparisonTold, TimeTold
    from retime.report.differences import Difference
    from retime.report.version_comparison import VersionPair
    from retime.report.version_parting import Spot

__all__ = ["comparison_values", "told_frame"]


def comparison_values(left: Edition, right: Edition, comparison: Comparison) -> ComparisonTold:
    """Return the values of a comparison of two editions."""
    sides = left, right
    return {
        "format": "retime-comparison/1",
        "left": {
            "map": str(left.speed_map.tree.path),
            "film": left.speed_map.film,
            "map_sha256": left.speed_map.sha256,
        },
        "right": {
            "map": str(right.speed_map.tree.path),
            "film": right.speed_map.film,
            "map_sha256": right.speed_map.sha256,
        },
        "alike": comparison.alike,
        "film": _differences(comparison.film),
        "reels": _differences(comparison.reels),
        "shots": _differences(comparison.shots),
        "versions": [cast("Any", _versions(sides, pair)) for pair in comparison.versions],
        "deliverables": _differences(comparison.deliverables),
    }


def told_frame(sides: tuple[Edition, Edition], reel: str, frame: int) -> int:
    """Return the number by which a film frame is told, if both sides tell it by the same."""
    numbers = {
        scan.told(frame) for edition in sides for scan in edition.scans if scan.reel.name == reel
    }
    return numbers.pop() if len(numbers) == 1 else frame


def _differences(found: Iterable[Difference]) -> list[Any]:
    return [to_builtins(one) for one in found]


def _versions(sides: tuple[Edition, Edition], pair: VersionPair) -> dict[str, Any]:
    runtimes, parts = pair.runtimes, pair.parts
    runs = (ours or others for ours, others in pair.speeds)
    places = [(run.reel, run.first, run.last) for run in runs if run is not None]
    return {
        "left": pair.left,
        "right": pair.right,
        "runtime": runtimes and {"left": _time(runtimes[0]), "right": _time(runtimes[1])},
        "parts": parts
        and {
            "at": _time(parts.seconds),
            "left": _spot(sides[0], parts.left),
            "right": _spot(sides[1], parts.right),
        },
        "speeds": [
            {
                "reel": reel,
                "first": told_frame(sides, reel, first),
                "last": told_frame(sides, reel, last),
                "left": run_told(ours),
                "right": run_told(others),
            }
            for (ours, others), (reel, first, last) in zip(pair.speeds, places, strict=True)
        ],
        "assembly": _differences(pair.assembly),
        "titles": _differences(pair.titles),
        "cards": [
            {"shot": shot, "left": _time(ours), "right": _time(others)}
            for shot, ours, others in pair.cards
        ],
    }


def _time(seconds: Fraction) -> TimeTold:
    return {**said(seconds=seconds), "text": clock(seconds)}  # type: ignore[typeddict-item]


def _spot(side: Edition, spot: Spot | None) -> dict[str, Any] | None:
    if spot is None:
        return None
    frame = None if spot.frame is None else told_frame((side, side), spot.reel, spot.frame)
    return {
        "reel": spot.reel,
        "shot": spot.shot,
        "frame": frame,
        "shows": str(spot.shows),
        "picture": spot.picture,
        "name": spot.name,
    }
