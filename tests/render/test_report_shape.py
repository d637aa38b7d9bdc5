"""The JSON report has the keys, kinds and figures of the format's published example."""

from __future__ import annotations

import hashlib
import json
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from numbered import write_scan
from rendering import reported, write_map

if TYPE_CHECKING:
    from pathlib import Path

# retime-report/1 as the project's design gives it: a reel of 35 mm, frames 24 to 2183, at 20 in 24.
EXAMPLE = json.loads("""
{"format": "retime-report/1", "film": "...", "gauge": "35mm", "map_sha256": "...",
 "deliverables": [{
  "name": "restrained-24", "version": "restrained", "profile": "prores-mezzanine",
  "method": "repeat", "phase": "continuous", "rate": "24", "conform_at": "24", "run_change": "1",
  "scanning": "progressive", "route": "encode-once", "reason": "...",
  "source_frames": 2160, "output_frames": 2592, "repeated": 432, "dropped": 0, "held": 0,
  "blended": 0,
  "length": {"frames_per_foot": "16", "feet": "135", "metres": "41.148"},
  "runtime": {"seconds": "108", "text": "0:01:48.000", "timecode": "00:01:48:00",
              "drop_frame": false},
  "true_runtime": {"seconds": "108", "text": "0:01:48.000"},
  "drift": {"max_ms": 16.667, "max_frames": "2/5", "rms_ms": 11.785, "end_ms": 0.0},
  "reels": [{"reel": "1", "output_first": 0, "output_last": 2591, "drift_end_ms": 0.0,
             "length": {"frames_per_foot": "16", "feet": "135", "metres": "41.148"}}],
  "stretches": [{"reel": "1", "first": 24, "last": 2183, "speed": "20", "effective_speed": "20",
                 "cadence": "1:1:2:1:1", "film_frames": 5, "output_per_cycle": 6,
                 "output_first": 0, "output_last": 2591}]
 }]}
""")


def test_the_examples_map_gives_the_examples_report(tmp_path: Path) -> None:
    write_scan(tmp_path / "reel-1.mkv", 3)  # frames is trusted, so that the report reads no further
    speed_map = write_map(
        tmp_path,
        "  - {reel: 1, scan: reel-1.mkv, first: 24, last: 2183, frames: 2208}",
        "  restrained-24: {version: restrained, profile: prores-mezzanine, rate: 24}",
        "  restrained: {speed: 20 fps}",
    )

    told = reported(speed_map)

    _hold(_filled(EXAMPLE, speed_map), told, "report")


def _filled(example: dict[str, Any], speed_map: Path) -> dict[str, Any]:
    """Put in what the example leaves to the map at hand."""
    (deliverable,) = example["deliverables"]
    reason = "no copy: the scan is ffv1 and prores-mezzanine is prores"
    return {
        **example,
        "film": "Numbers",
        "map_sha256": hashlib.sha256(speed_map.read_bytes()).hexdigest(),
        "deliverables": [{**deliverable, "reason": reason}],
    }


def _hold(example: Any, told: Any, where: str) -> None:
    """Hold a part of a report against the example's: kinds, keys, figures; more keys may stand."""
    assert type(example) is type(told), where
    if isinstance(example, dict):
        assert example.keys() <= told.keys(), where
        for key, value in example.items():
            _hold(value, told[key], f"{where}.{key}")
    elif isinstance(example, list):
        assert len(example) == len(told), where
        for place, (one, other) in enumerate(zip(example, told, strict=True)):
            _hold(one, other, f"{where}[{place}]")
    elif where.endswith(".length.metres"):  # the same figure, as a decimal or as a fraction
        assert Fraction(example) == Fraction(told), where
    else:
        assert example == told, where
