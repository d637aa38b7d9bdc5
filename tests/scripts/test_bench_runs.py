"""What is run for the figures: profiles of the bench's own, and runs that are settled first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from benching.bench import SCALES, Bench
from benching.owned import with_threads
from benching.scans import Scans
from benching.timing import Run, settled

from retime.profile.shelf import shelf

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize("shipped", ["prores-mezzanine", "ffv1-master", "h264-viewing"])
def test_a_profile_with_other_threads_says_them_once(
    shipped: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", "")  # as it was, afterwards
    scale = SCALES["small"]
    bench = Bench(folder=tmp_path, runs=1, scale=scale, scans=Scans(tmp_path, frames=scale.drawn))

    name = with_threads(bench, shipped, 1)

    assert 1 == shelf().load(name).threads


def ran(seconds: float) -> Run:
    return Run(seconds=seconds, flushed=seconds, busy=0, peak=0, written=0)


@pytest.mark.parametrize(
    ("took", "counted"),
    [
        ([9, 4, 6, 5], 5),  # long enough by itself, but one run may be off
        ([0.1, 1, 0.5, 0.7, 0.9], 0.7),  # an even number has no middle: the lower of the two
        ([5, 1, 0.4, 0.5, 0.6, 0.7], 0.6),
        ([9, 16], 16),  # what memory costs is little of it
    ],
)
def test_a_run_that_counts_comes_after_one_that_does_not_and_is_the_middle_of_some(
    took: list[float], counted: float
) -> None:
    runs = [ran(seconds) for seconds in took]

    assert counted == settled(lambda: runs.pop(0)).flushed
    assert not runs
