"""A render's progress: a bar on a terminal, plain lines elsewhere."""

from __future__ import annotations

import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    TextColumn,
    TimeRemainingColumn,
)
from rich.text import Text

from retime.render.progress import Silent

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console
    from rich.progress import Task

    from retime.cli.screen import Screen
    from retime.render import progress as listening

__all__ = ["shown_progress"]

_BETWEEN_LINES = 10.0  # seconds


@contextmanager
def shown_progress(screen: Screen) -> Iterator[listening.Progress]:
    """Give whatever listens to a render on this screen."""
    console = screen.errors()
    if screen.quiet:
        yield Silent()
    elif console.is_terminal and not console.is_dumb_terminal:
        with _Bar(console).bar as bar:
            yield _Listener(bar)
    else:
        yield _Lines(screen)


class _Speed(TextColumn):
    """How many pictures go by in a second."""

    def __init__(self) -> None:
        super().__init__("")

    def render(self, task: Task) -> Text:
        return Text(f"{task.speed or 0:.1f}/s")


class _Bar:
    """A bar with the picture count, the speed, and the time left."""

    def __init__(self, console: Console) -> None:
        self.bar = Progress(
            TextColumn("pictures"),
            BarColumn(),
            MofNCompleteColumn(),
            _Speed(),
            TimeRemainingColumn(),
            console=console,
            transient=True,
        )


class _Listener:
    def __init__(self, bar: Progress) -> None:
        self._bar = bar
        self._task = bar.add_task("")

    def start(self, pictures: int, note: str) -> None:
        self._bar.console.print(note)
        self._bar.update(self._task, total=pictures)

    def advance(self, pictures: int) -> None:
        self._bar.advance(self._task, pictures)

    def finish(self) -> None:
        self._bar.refresh()


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
