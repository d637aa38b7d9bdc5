"""Files that are written into a folder together: all of them under other names first."""

from __future__ import annotations

import os
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from retime.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path

__all__ = ["check_folder_files", "made_folder", "write_folder_files"]


def check_folder_files(
    folder: Path, names: Iterable[str], inputs: Iterable[Path], *, force: bool
) -> None:
    """Raise OutputError where files may not be written into a folder, which need not be there.

    That is what is no folder, one of the inputs, and, unless ``force`` is given, what exists.
    """
    try:
        if os.path.lexists(folder) and not folder.is_dir():
            raise OutputError(folder, "is no folder", "name a folder with -o")
        known = {one.resolve() for one in inputs}
        for path in (folder / name for name in names):
            if path.is_dir():
                raise OutputError(path, "is a folder", "move it away")
            if path.resolve() in known:
                raise OutputError(path, "is one of the inputs", "write into another folder")
            if os.path.lexists(path) and not force:
                raise OutputError(path, "exists already", "use --force to overwrite it")
    except (OSError, ValueError) as error:
        raise _unwritten(folder, error) from error


@contextmanager
def made_folder(folder: Path) -> Iterator[None]:
    """Make a folder that is not there yet, in one that is; a failure leaves it only if it is used.

    Raises OutputError where it cannot be made, or is no folder.
    """
    made = not folder.is_dir()
    if made:
        _make(folder)
    try:
        yield
    except BaseException:
        if made:
            with suppress(OSError):  # there is something in it by now
                folder.rmdir()
        raise


def _make(folder: Path) -> None:
    within = folder.absolute().parent
    if os.path.lexists(folder):
        raise OutputError(folder, "is a file, not a folder", "name a folder")
    if not within.is_dir():
        there = os.path.lexists(within)
        text, hint = ("is a file, not a folder", "name a folder") if there else _AWAY
        raise OutputError(within, text, hint)
    try:
        folder.mkdir()
    except OSError as error:
        raise _unwritten(folder, error) from error


_AWAY = "is not there", "make that folder first"


def write_folder_files(folder: Path, contents: Mapping[str, bytes]) -> None:
    """Write files into a folder, which is made if need be; none is replaced before all are written.

    Raises:
        OutputError: one cannot be written; then nothing unfinished is left.
    """
    works = {name: folder / f".{name}.unfinished" for name in contents}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        try:
            for name, data in contents.items():
                works[name].unlink(missing_ok=True)
                with works[name].open("xb") as file:
                    file.write(data)
                    file.flush()
                    os.fsync(file.fileno())
            for name, work in works.items():
                work.replace(folder / name)
        except BaseException:
            for work in works.values():
                with suppress(OSError):
                    work.unlink()
            raise
    except OSError as error:
        raise _unwritten(folder, error) from error


def _unwritten(folder: Path, error: OSError | ValueError) -> OutputError:
    reason = getattr(error, "strerror", None) or str(error)
    return OutputError(folder, f"cannot be written into: {reason[:1].lower()}{reason[1:]}")
