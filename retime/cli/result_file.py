"""Results that go into a file: whole or not at all, and over nothing unless asked for."""

from __future__ import annotations

import os
from contextlib import suppress
from io import StringIO
from typing import TYPE_CHECKING

from retime.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from rich.console import RenderableType

__all__ = ["check_result", "table_text", "write_result"]

_WIDE = 120


def check_result(path: Path, inputs: Iterable[Path], *, force: bool) -> None:
    """Raise OutputError where a result may not be written, before any work is done for it.

    That is a folder, one of the inputs, and, unless ``force`` is given, whatever exists already.
    """
    try:
        if not path.parent.is_dir():
            raise OutputError(path, "is in a folder that is not there", "make the folder first")
        if path.is_dir():
            raise OutputError(path, "is a folder", "name a file in it")
        if any(_same(path, one) for one in inputs):
            raise OutputError(path, "is one of the inputs", "write to another file")
        if os.path.lexists(path) and not force:
            raise OutputError(path, "exists already", "use --force to overwrite it")
    except OSError as error:
        raise _unwritten(path, error) from error


def _same(path: Path, other: Path) -> bool:
    if os.path.realpath(path) == os.path.realpath(other):
        return True
    return path.exists() and other.exists() and path.samefile(other)


def _unwritten(path: Path, error: OSError) -> OutputError:
    reason = error.strerror or str(error)
    return OutputError(path, f"cannot be written: {reason[:1].lower()}{reason[1:]}")


def write_result(path: Path, text: str) -> None:
    """Write a file under another name, and give it its own when it is complete on the disk.

    Raises:
        OutputError: it cannot be written; then nothing is left of it, and what was there stays.
    """
    work = path.with_name(f".{path.name}.unfinished")
    try:
        work.unlink(missing_ok=True)
        with work.open("x", encoding="utf-8", newline="\n") as file:
            try:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
                work.replace(path)
            except BaseException:
                with suppress(OSError):
                    work.unlink()
                raise
    except OSError as error:
        raise _unwritten(path, error) from error


def table_text(what: RenderableType) -> str:
    """Return a table as it goes into a file."""
    from rich.console import Console

    told = StringIO()
    Console(file=told, width=_WIDE, color_system=None, highlight=False, markup=False).print(what)
    return "".join(f"{line.rstrip()}\n" for line in told.getvalue().rstrip().splitlines())
