"""A speed map read: text in, ``SpeedMap`` out, or every mistake at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import DocumentError
from retime.speedmap.drafting import draft
from retime.speedmap.rules import findings
from retime.yamldoc import reading

if TYPE_CHECKING:
    from pathlib import Path

    from retime.speedmap.model import SpeedMap

__all__ = ["load", "read"]


def load(path: Path) -> SpeedMap:
    """Read the map in the file at ``path``, and the table of shots that it names.

    Raises:
        DocumentError: as ``read``, or the file cannot be opened.
    """
    return read(reading.read_bytes(path), path)


def read(source: str | bytes, path: Path, table: bytes | None = None) -> SpeedMap:
    """Read the map in ``source``; ``path`` names it, and its folder is where its paths begin.

    ``table`` is what the table of shots is to hold that it names, None for what the file holds.

    A map that is returned can be read, which does not yet make it sound: what else is wrong or odd
    is told by ``retime.speedmap.rules``, once the scans' frame counts are known.

    Raises:
        DocumentError: a part cannot be read. What the rules find in the rest is told with it.
    """
    drafted = draft(reading.read(source, path), table)
    if drafted.speed_map is not None and not drafted.findings:
        return drafted.speed_map
    told = list(drafted.findings)
    if drafted.speed_map is not None:
        told += findings(drafted.speed_map, {}, whole=drafted.whole)
    raise DocumentError(told)
