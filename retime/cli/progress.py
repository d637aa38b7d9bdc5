"""A render's progress: a bar on a terminal, plain lines elsewhere."""

from __future__ import annotations

import sys
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

from retime.render.progress import Silent

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.cli.screen import Screen
    from retime.render import progress as listening

__all__ = ["shown_progress"]

_BETWEEN_LINES = 10.0  # seconds


@contextmanager
def shown_progress(screen: Screen) -> Iterator[listening.Progress]:
    """Give whatever listens to a render on this screen."""
    if screen.quiet:
        yield Silent()
    elif sys.stderr.isatty() and not (console := screen.errors()).is_dumb_terminal:
        from retime.cli.progress_bar import listening_bar

        with listening_bar(console) as listener:
            yield listener
    else:
        yield _Lines(screen)


class _Lines:
    """A line now and then, for a log."""

    def __init__(self, screen: Screen) -> None:
        self._screen = screen
        self._total = self._done = 0
        self._began = self._told = time.monotonic()

    def start(self, pictures: int, note: str) -> None:
        self._total = pictures
        self._screen.say(f"{note}: {pictures} pictures")

    def advance(self, pictures: int) -> None:
        self._done += pictures
        now = time.monotonic()
        if self._done and now - self._told >= _BETWEEN_LINES:
            self._told = now
            speed = self._done / (now - self._began)
            left = max(0, self._total - self._done) / speed
            self._screen.say(
                f"{self._done} of {self._total} pictures, {speed:.1f}/s, {left:.0f} s left"
            )

    def finish(self) -> None:
        took = time.monotonic() - self._began
        self._screen.say(f"{self._done} pictures in {took:.1f} s")
