"""What a worker writes down of a piece that is finished, until the one who leads has taken note.

Who leads may be busy for long, with a copy or with joining. What was finished meanwhile is not to
be lost where that one is killed.
"""

from __future__ import annotations

import hashlib
import re
from contextlib import suppress
from typing import TYPE_CHECKING

import msgspec
from msgspec import Struct

from retime.media.writing import flush_to_disk, writing
from retime.render.piece_files import Made  # noqa: TC001 - a record is decoded by it

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = ["RECORDS", "drop_record", "leave_record", "mark_of", "records_in"]

RECORDS = re.compile(r"\d+-\d+\.made")
"""How the files are called: the piece's name, and ``.made``."""


class _Record(Struct, frozen=True, kw_only=True):
    """What was made, and a mark of what decided it."""

    mark: str
    made: Made


def mark_of(decisions: Mapping[str, str]) -> str:
    """Return a digest of what decided the pictures, as a journal has it."""
    told = msgspec.json.encode(dict(decisions), order="deterministic")
    return hashlib.blake2b(told, digest_size=16).hexdigest()


def leave_record(folder: Path, piece: str, made: Made, mark: str) -> None:
    """Write down, whole or not at all, that a piece is finished."""
    path = folder / f"{piece}.made"
    new = folder / f".{path.name}"
    with writing(path):
        new.write_bytes(msgspec.json.encode(_Record(mark=mark, made=made)))
        flush_to_disk(new)
        new.replace(path)
        flush_to_disk(folder)


def records_in(folder: Path, mark: str) -> dict[str, Made]:
    """Return what workers have written down of finished pieces, by their names.

    What cannot be read, or was decided otherwise, is as if it were not there.
    """
    found = {}
    with suppress(OSError):
        for path in folder.iterdir():
            if RECORDS.fullmatch(path.name) and path.is_file() and not path.is_symlink():
                with suppress(OSError, msgspec.MsgspecError, ValueError, RecursionError):
                    record = msgspec.json.decode(path.read_bytes(), type=_Record)
                    if record.mark == mark:
                        found[path.stem] = record.made
    return found


def drop_record(folder: Path, piece: str) -> None:
    """Remove what was written down of a piece, as it stands in the journal now."""
    with suppress(OSError):
        (folder / f"{piece}.made").unlink()
