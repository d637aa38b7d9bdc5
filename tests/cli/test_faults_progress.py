"""A log of a render goes on where nothing is done for long, as while a long copy is made."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from retime.cli.progress import shown_progress
from retime.cli.screen import Screen

if TYPE_CHECKING:
    import pytest


def test_nothing_done_for_long_is_no_failure_and_more_than_all_leaves_no_time(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    now = 0.0
    monkeypatch.setattr(time, "monotonic", lambda: now)
    with shown_progress(Screen()) as progress:
        progress.start(100, "x")
        now = 20.0
        progress.advance(0)
        now = 40.0
        progress.advance(50)
        now = 60.0
        progress.advance(70)
    told = capsys.readouterr().err.splitlines()

    assert [
        "x: 100 pictures",
        "50 of 100 pictures, 1.2/s, 40 s left",
        "120 of 100 pictures, 2.0/s, 0 s left",
    ] == told
