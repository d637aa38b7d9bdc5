"""What of a render is done already, written down so that the same command goes on there.

The journal stands in a hidden folder beside the deliverables, with the pieces that are finished.
It says by what they were made; where any of that is different now, they are of no use.
"""

from __future__ import annotations

import hashlib
import re
import shutil
import time
from typing import TYPE_CHECKING, Literal

import msgspec
from msgspec import Struct, field

from retime.errors import OutputError
from retime.media.writing import flush_to_disk, writing
from retime.render.damage import DamagedFrame  # noqa: TC001 - a record is decoded by it
from retime.render.piece_files import Made  # noqa: TC001 - a record is decoded by it
from retime.render.records import RECORDS, drop_record, mark_of, records_in
from retime.yamldoc.quoting import listed

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence
    from pathlib import Path

    from retime.render.order import Order

__all__ = ["Journal", "decided_in", "forget_pieces", "pieces_folder"]

_NAME = "journal.json"
_UNFIT = re.compile(r"[^\w.+-]+")
_STORE = re.compile(r"[\w-]+\.packets")
_LONGEST = 60
_TOLD = 4  # differences
_PAUSE = 0.5  # seconds


class _Record(Struct, kw_only=True):
    """What stands in the file.

    ``decisions`` is what decided the pictures; ``complete`` are passes whose files only have to be
    given their names, ``made`` those that have them, and ``damaged`` frames of scans that something
    else is shown for in those.
    """

    format: Literal["retime-journal/1"] = "retime-journal/1"
    decisions: dict[str, str]
    pieces: dict[str, Made] = field(default_factory=dict)
    complete: list[int] = field(default_factory=list)
    made: list[int] = field(default_factory=list)
    damaged: list[DamagedFrame] = field(default_factory=list)


def pieces_folder(orders: Sequence[Order]) -> Path:
    """Return where the pieces of these orders are kept: a hidden folder beside the deliverables."""
    named = sorted(orders, key=lambda order: order.name)
    finals = "\n".join(order.final.name for order in named)
    mark = hashlib.blake2b(finals.encode(), digest_size=4).hexdigest()
    name = _UNFIT.sub("-", named[0].name)[:_LONGEST]
    more = f"+{len(orders) - 1}" if len(orders) > 1 else ""
    return named[0].final.with_name(f".{name}{more}-{mark}.pieces")


class Journal:
    """A render's journal."""

    def __init__(self, folder: Path, decisions: Mapping[str, str]) -> None:
        """Read what is there; ``differences`` are what it was made by that is different now."""
        self.folder = folder
        self.differences: list[str] = []
        self._record = _Record(decisions=dict(decisions))
        self._known = False
        if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
            raise OutputError(folder, "is no folder of pieces", "move it away")
        found = _read(folder / _NAME)
        if found is None:
            return
        self.differences = _differences(found.decisions, decisions)
        if not self.differences:
            self._record, self._known = found, True
            self.take_note()

    @property
    def pieces(self) -> Mapping[str, Made]:
        """The finished pieces, by their names."""
        return self._record.pieces

    @property
    def damaged(self) -> Sequence[DamagedFrame]:
        """Frames that something else is shown for in what has its final name."""
        return self._record.damaged

    @property
    def told_differences(self) -> str:
        """What is different, in words."""
        more = len(self.differences) - _TOLD
        told = self.differences[:_TOLD] + ([f"{more} more"] if more > 0 else [])
        return listed(told)

    def open(self) -> None:
        """Make the folder, and take out of it what the journal does not know."""
        with writing(self.folder):
            if not self._known and self.folder.exists():
                shutil.rmtree(self.folder)
            self.folder.mkdir(exist_ok=True)
            known = {_NAME, *(name for made in self.pieces.values() for name in made.digests)}
            for path in self.folder.iterdir():
                if path.is_file() and path.name not in known and not _is_record(path):
                    path.unlink()
        self.differences = []
        self._write()
        for path in filter(_is_record, self.folder.iterdir()):
            drop_record(self.folder, path.stem)

    def add(self, name: str, made: Made) -> None:
        """Take that a piece is finished; what a full disk does not take down is not kept."""
        self._record.pieces[name] = made
        try:
            self._write()
        except OutputError:
            del self._record.pieces[name]
            raise
        drop_record(self.folder, name)

    def take_note(self) -> None:
        """Take that those pieces are finished of which workers have written so."""
        for name, made in records_in(self.folder, mark_of(self._record.decisions)).items():
            over = any(_of(name, number) for number in (*self._record.complete, *self._record.made))
            if not over and _are_stores(made.digests):
                self._record.pieces.setdefault(name, made)

    def drop(self, names: Collection[str]) -> None:
        """Forget pieces, which are made again."""
        for name in names:
            del self._record.pieces[name]
        if names:
            self._write()

    def is_complete(self, number: int) -> bool:
        """Tell whether all files of a pass are complete, whatever their names."""
        return number in self._record.complete

    def complete(self, number: int, *, done: bool = True) -> None:
        """Take that all files of a pass are complete, or that they are not after all."""
        before = self._record.complete
        self._record.complete = [one for one in before if one != number] + [number] * done
        if before != self._record.complete:
            self._write()

    def is_made(self, number: int) -> bool:
        """Tell whether all files of a pass have their final names."""
        return number in self._record.made

    def make(self, number: int) -> None:
        """Take that all files of a pass have their final names; its pieces are not needed more."""
        self._record.made = [*self._record.made, number]
        gone = {name: made for name, made in self.pieces.items() if _of(name, number)}
        self._record.damaged += [frame for made in gone.values() for frame in made.damaged]
        self._record.pieces = {name: made for name, made in self.pieces.items() if name not in gone}
        self._write()
        for made in gone.values():
            for name in made.digests:
                (self.folder / name).unlink(missing_ok=True)

    def unmake(self, number: int) -> None:
        """Take that a pass has to be made again."""
        self._record.made = [one for one in self._record.made if one != number]
        self._record.complete = [one for one in self._record.complete if one != number]
        self._write()

    @property
    def holds_anything(self) -> bool:
        """Whether the same render would find anything done."""
        return bool(self._record.pieces or self._record.complete or self._record.made)

    def forget(self) -> None:
        """Remove the folder and all that is in it."""
        shutil.rmtree(self.folder, ignore_errors=True)
        if self.folder.exists():  # a worker that has not heard yet may have put a file there
            time.sleep(_PAUSE)
            with writing(self.folder, "cannot be removed"):
                shutil.rmtree(self.folder)

    def _write(self) -> None:
        path = self.folder / _NAME
        new = path.with_suffix(".new")
        with writing(path):
            new.write_bytes(msgspec.json.format(msgspec.json.encode(self._record), indent=1))
            flush_to_disk(new)
            new.replace(path)
            flush_to_disk(self.folder)


def forget_pieces(orders: Sequence[Order]) -> None:
    """Remove what an earlier call has left of these orders, which were made otherwise since."""
    folder = pieces_folder(orders)
    if (folder / _NAME).is_file() and not folder.is_symlink():
        with writing(folder, "cannot be removed"):
            shutil.rmtree(folder)


def _of(piece: str, number: int) -> bool:
    return piece.startswith(f"{number}-")


def _read(path: Path) -> _Record | None:
    """Return a record, None for none that can be read: it is as none then."""
    try:
        found = msgspec.json.decode(path.read_bytes(), type=_Record)
    except (OSError, msgspec.MsgspecError, ValueError, RecursionError):
        return None
    return found if all(_are_stores(made.digests) for made in found.pieces.values()) else None


def _are_stores(names: Iterable[str]) -> bool:
    return all(_STORE.fullmatch(name) for name in names)


def _is_record(path: Path) -> bool:
    return RECORDS.fullmatch(path.name) is not None


def decided_in(folder: Path) -> str:
    """Return the mark of what decides the pictures of the render that a folder of pieces is of."""
    found = _read(folder / _NAME)
    return "" if found is None else mark_of(found.decisions)


def _differences(before: Mapping[str, str], now: Mapping[str, str]) -> list[str]:
    names = [*now, *(name for name in before if name not in now)]
    return [name for name in names if before.get(name) != now.get(name)]
