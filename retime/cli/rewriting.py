"""Files changed in place: shown as a diff, then written whole or not at all."""

from __future__ import annotations

import os
import re
import stat
from contextlib import suppress
from difflib import unified_diff
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from retime.cli.screen import SCREEN
from retime.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.speedmap.manuscript import Edited, FileChange

__all__ = ["show_and_write"]

_LINE = re.compile(r"[^\r\n]*(?:\r\n|\n|\r)|[^\r\n]+")


def show_and_write(edited: Edited, *, dry_run: bool) -> None:
    """Print what changes, and write it unless this is a dry run.

    Raises:
        OutputError: a file cannot be written, or is not as it was read; then all stay as they are.
    """
    if not edited.files:
        SCREEN.say("there is nothing to change: the map says so already")
        return
    for one in edited.files:
        typer.echo(_diff(one), nl=False)
    for note in edited.notes:
        SCREEN.say(note)
    SCREEN.warn(edited.warnings)
    if dry_run:
        SCREEN.say("a dry run: nothing is written")
        return
    _write(edited.files)
    for one in edited.files:
        SCREEN.say(f"{one.path} is changed")


def _diff(change: FileChange) -> str:
    """Return a file's change as a unified diff, three lines about each place."""
    before, after = (
        _LINE.findall(data.decode("utf-8-sig")) for data in (change.before, change.after)
    )
    name = str(change.path)
    told = []
    for line in unified_diff(before, after, fromfile=name, tofile=name):
        whole = line.endswith(("\n", "\r"))
        told.append(line if whole else f"{line}\n\\ No newline at end of file\n")
    return "".join(told)


def _write(changes: Sequence[FileChange]) -> None:
    """Write all files under other names, and give them their own when all are complete."""
    works: list[tuple[Path, Path]] = []
    try:
        for change in changes:
            try:
                works.append(_prepared(change))
            except OSError as error:
                raise _unwritten(change.path, error) from error
        for change, (work, target) in zip(changes, works, strict=True):
            try:
                work.replace(target)
            except OSError as error:
                raise _unwritten(change.path, error) from error
    finally:
        for work, _ in works:
            with suppress(OSError):
                work.unlink()


def _prepared(change: FileChange) -> tuple[Path, Path]:
    """Write what a file is to hold beside it, with its owner and mode; a link is followed."""
    target = Path(os.path.realpath(change.path))
    if target.read_bytes() != change.before:
        raise OutputError(change.path, "has changed meanwhile", "give the command again")
    if not os.access(target, os.W_OK):
        raise OutputError(change.path, "is protected against writing", "change its mode first")
    now = target.stat()
    work = target.with_name(f".{target.name}.unfinished")
    work.unlink(missing_ok=True)
    handle = os.open(work, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(change.after)
            file.flush()
            with suppress(OSError):  # only an administrator may write another's file as theirs
                os.fchown(file.fileno(), now.st_uid, now.st_gid)
            os.fchmod(file.fileno(), stat.S_IMODE(now.st_mode))
            os.fsync(file.fileno())
    except BaseException:
        with suppress(OSError):
            work.unlink()
        raise
    return work, target


def _unwritten(path: Path, error: OSError) -> OutputError:
    reason = error.strerror or str(error)
    return OutputError(path, f"cannot be written: {reason[:1].lower()}{reason[1:]}")
