"""A bar on a terminal: how many pictures are made, how fast, and how long it still takes."""

from __future__ import annotations

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

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console
    from rich.progress import Task

    from retime.render import progress as listening

__all__ = ["listening_bar"]


@contextmanager
def listening_bar(console: Console) -> Iterator[listening.Progress]:
    """Show a bar, and give what listens to a render for it."""
    bar = Progress(
        TextColumn("pictures"),
        BarColumn(),
        MofNCompleteColumn(),
        _Speed(),
        TimeRemainingColumn(),
        console=console,
        transient=True,
    )
    with bar:
        yield _Listener(bar)


class _Speed(TextColumn):
    """How many pictures go by in a second."""

    def __init__(self) -> None:
        super().__init__("")

    def render(self, task: Task) -> Text:
        return Text(f"{task.speed or 0:.1f}/s")


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
