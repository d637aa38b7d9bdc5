"""The folder that a preview is: what may be written there, and in what order it becomes final.

Everything is made in a hidden folder inside it. Only when all of it is complete are the files moved
to their names, the page last. What is not a preview's own is never removed.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from retime.errors import OutputError
from retime.media.writing import writing

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping
    from pathlib import Path

__all__ = ["FORMAT", "PAGE", "Folder", "Record"]

FORMAT = "retime-preview-folder/1"
PAGE = "index.html"
_RECORD = "preview.json"
_WORK = ".retime-preview-unfinished"
_FOLDERS = ("pictures", "delivered")
_OURS = re.compile(
    r"pictures/e\d{1,4}/\d{5,7}\.jpg|delivered/e\d{1,4}-[a-z0-9-]{1,60}\.mp4", re.ASCII
)


class Record(Struct, frozen=True, kw_only=True):
    """What a folder was made from (``digest``), its ``files`` and their sizes, the page's data."""

    digest: str
    files: Mapping[str, int]
    values: Mapping[str, Any]


class Folder:
    """A preview's folder, which need not be there yet."""

    def __init__(self, path: Path) -> None:
        """Look at nothing yet."""
        self.path = path
        self._made = False

    def check(self, inputs: Iterable[Path], *, force: bool) -> None:
        """Raise OutputError where no preview may be written, before any work is done for it.

        That is a file, a folder that one of the inputs is in, and, unless ``force`` is given, a
        folder that holds anything and is no preview; with it, one whose own ``pictures`` or
        ``delivered`` would be mixed with ours.
        """
        path = self.path
        with writing(path):
            if not path.parent.is_dir():
                raise OutputError(path, "is in a folder that is not there", "make that first")
            if not os.path.lexists(path):
                return
            if not path.is_dir():
                raise OutputError(path, "is a file, not a folder", "name a folder")
            self._check_inputs(inputs)
            names = {one.name for one in path.iterdir()} - {_WORK}
        if not names or self.record() is not None:
            return
        if not force:
            raise OutputError(
                path,
                "holds something, and is no preview that was made here",
                "name a folder of its own, or use --force to write into it",
            )
        for name in _FOLDERS:
            if name in names:
                raise OutputError(
                    path / name,
                    "is there already and was not made here",
                    "even --force does not touch it: name another folder",
                )

    def _check_inputs(self, inputs: Iterable[Path]) -> None:
        whole = self.path.resolve()
        for one in inputs:
            if whole in one.resolve().parents:
                text = f"is a folder that an input is in, {one}"
                raise OutputError(self.path, text, "name a folder of its own")

    def record(self) -> Record | None:
        """Return what is recorded of a preview here, None where there is none."""
        try:
            told = json.loads((self.path / _RECORD).read_text(encoding="utf-8"))
            if told.pop("format") != FORMAT:
                return None
            record = Record(**told)
            sound = all(_OURS.fullmatch(name) for name in record.files)
        except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
            return None
        return record if sound and isinstance(record.values, dict) else None

    def holds(self, record: Record) -> bool:
        """Tell whether every file of a record is there, by its size."""
        try:
            return all(
                (self.path / name).stat().st_size == size for name, size in record.files.items()
            )
        except OSError:
            return False

    @contextmanager
    def work(self) -> Iterator[Path]:
        """Give a hidden folder to make things in, which is gone afterwards, whatever happens."""
        work = self.path / _WORK
        with writing(self.path):
            if not self.path.exists():
                self.path.mkdir()
                self._made = True
            _remove(work)
            work.mkdir()
        try:
            yield work
        finally:
            with writing(work, "cannot be removed"):
                _remove(work)
            if self._made and not (self.path / PAGE).exists():
                with suppress(OSError):  # something else lies there by now
                    self.path.rmdir()

    def settle(self, work: Path, record: Record, page: str) -> None:
        """Move what was made to its names, and take away what an earlier preview left."""
        with writing(self.path):
            earlier = self.record()
            stale = set(earlier.files if earlier else ()) - set(record.files)
            (self.path / PAGE).unlink(missing_ok=True)
            # Should the work end here, what is there is still known to be a preview's.
            files = dict.fromkeys({*stale, *record.files}, 0)
            self._tell(Record(digest="", files=files, values={}))
            for name in record.files:
                final = self.path / name
                final.parent.mkdir(parents=True, exist_ok=True)
                (work / name).replace(final)
            self._remove(stale)
            self._tell(record)
        self.write_page(page)

    def write_page(self, page: str) -> None:
        """Write the page, whole or not at all."""
        with writing(self.path / PAGE):
            _write(self.path / PAGE, page)

    def _tell(self, record: Record) -> None:
        told = {
            "format": FORMAT,
            "digest": record.digest,
            "files": dict(sorted(record.files.items())),
            "values": record.values,
        }
        _write(self.path / _RECORD, json.dumps(told, indent=1, ensure_ascii=False) + "\n")

    def _remove(self, names: Collection[str]) -> None:
        for name in names:
            (self.path / name).unlink(missing_ok=True)
        for folder in {(self.path / name).parent for name in names}:
            with suppress(OSError):  # there are others in it
                folder.rmdir()


def _write(path: Path, text: str) -> None:
    work = path.with_name(f".{path.name}.unfinished")
    try:
        with work.open("w", encoding="utf-8", newline="\n", errors="replace") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        work.replace(path)
    finally:
        work.unlink(missing_ok=True)


def _remove(work: Path) -> None:
    if work.is_symlink() or work.is_file():
        work.unlink()
    elif work.exists():
        shutil.rmtree(work)
