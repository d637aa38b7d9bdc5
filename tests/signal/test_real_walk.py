"""A real walk: the period of steps, against a published data set that was analysed otherwise.

The package gaitpy 1.6.1 comes with 168 seconds of an accelerometer worn at the waist, 50 samples a
second, and with what its authors' own algorithm made of them: three bouts of walking with the
duration of every step. Its files are read; it is not imported.
"""

from __future__ import annotations

import csv
from datetime import datetime
from importlib.metadata import distribution
from pathlib import Path
from statistics import median

import numpy as np
import pytest

from retime.signal.period import Period, find_period

RATE = 50  # samples a second
STAMP, BOUT = "%Y-%m-%d %H:%M:%S:%f", "%Y-%m-%d %H:%M:%S.%f"
HEADER = 100  # lines before the samples


def rows(name: str) -> list[list[str]]:
    path = Path(str(distribution("gaitpy").locate_file(f"gaitpy/demo/{name}")))
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


@pytest.fixture(scope="module")
def steps() -> dict[str, list[tuple[str, float, float]]]:
    """Give each bout's start, its length in seconds and the duration of each step in seconds."""
    names, *strides = rows("demo_gait_features.csv")
    keys = ("bout_start_time", "bout_length_sec", "step_duration")
    start, length, step = (names.index(key) for key in keys)
    told: dict[str, list[tuple[str, float, float]]] = {}
    for row in strides:
        told.setdefault(row[0], []).append((row[start], float(row[length]), float(row[step])))
    return told


@pytest.mark.parametrize("bout", ["1", "2", "3"])
def test_the_steps_of_a_real_walk_are_as_long_as_its_authors_found(
    bout: str, steps: dict[str, list[tuple[str, float, float]]]
) -> None:
    samples = [row for row in rows("demo_data.csv")[HEADER:] if len(row) > 3]
    up = np.array([float(row[2]) for row in samples])
    begin, seconds, _ = steps[bout][0]
    since = datetime.strptime(begin, BOUT) - datetime.strptime(samples[0][0], STAMP)  # noqa: DTZ007
    first = round(since.total_seconds() * RATE)
    told = find_period([up[first : first + round(seconds * RATE)]])

    assert isinstance(told, Period), told
    published = median(step for *_, step in steps[bout])
    assert published == 0.62
    assert told.frames / RATE == pytest.approx(published, rel=0.02)
    # A stride of two steps is what else may be meant.
    assert any(one.frames == pytest.approx(2 * told.frames) for one in told.others)
