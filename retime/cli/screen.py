"""Where commands print: results to standard output, messages to standard error."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import TextIO

    from rich.console import Console, RenderableType

    from retime.findings import Finding

__all__ = ["SCREEN", "Screen", "muted"]

_WIDE = 160


class Screen(Struct):
    """What the global options asked for."""

    quiet: bool = False
    color: bool = True

    def _console(self, *, stderr: bool) -> Console:
        from rich.console import Console

        stream = sys.stderr if stderr else sys.stdout
        plain = not self.color or "NO_COLOR" in os.environ
        # A table that goes into a file or a pipe is not cut to a terminal's width.
        width = None if stream.isatty() else _WIDE
        return Console(
            stderr=stderr,
            no_color=plain,
            color_system=None if plain else "auto",  # without one, nothing is set in bold either
            width=width,
            highlight=False,
            soft_wrap=False,
            markup=False,
        )

    def result(self, what: RenderableType) -> None:
        """Print a table or text for a person as the command's result."""
        console = self._console(stderr=False)
        if console.is_terminal:
            console.print(what)
            return
        with console.capture() as captured:
            console.print(what)
        # Tables are drawn to the width they are given; nobody wants the blanks in a file.
        lines = captured.get().rstrip().splitlines()
        sys.stdout.write("".join(f"{line.rstrip()}\n" for line in lines))

    def errors(self) -> Console:
        """Return the console for progress and messages."""
        return self._console(stderr=True)

    def warn(self, findings: Iterable[Finding]) -> None:
        """Tell warnings, one a line, unless asked to be quiet."""
        for finding in findings:
            self.say(str(finding))

    def say(self, text: str) -> None:
        """Tell something by the way, unless asked to be quiet."""
        if not self.quiet:
            self.complain(text)

    def complain(self, text: str) -> None:
        """Tell what went wrong; that nobody listens any more is no reason to stop working."""
        try:
            sys.stderr.write(f"{text}\n")
        except OSError:
            muted(sys.stderr)


def muted(stream: TextIO) -> None:
    """Send what is still written to a stream, its buffer included, nowhere."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)


SCREEN = Screen()
