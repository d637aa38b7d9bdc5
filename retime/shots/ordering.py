"""Reels in order: scans by their names, in which numbers are read as numbers."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import CommandError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

__all__ = ["NamedScan", "film_named_by", "in_order"]

_DIGITS = re.compile(r"([0-9]+)", re.ASCII)
_NUMBERING = re.compile(r"%(?:0[1-9][0-9]?)?d")
_LARGEST = 999


class NamedScan(Struct, frozen=True, kw_only=True):
    """A scan, and the name of the reel that it is of."""

    reel: str
    path: Path


def in_order(paths: Iterable[Path]) -> tuple[NamedScan, ...]:
    """Return scans in the order of their names, ``reel-2`` before ``reel-10``.

    Reels are named by the last number in their scans' names, where each has another one and they
    rise; else 1, 2, 3 in that order. Raises CommandError for a scan that is named twice.
    """
    ordered = sorted(paths, key=_key)
    known: set[Path] = set()
    for path in ordered:
        if path.resolve() in known:
            raise CommandError(f"{path} is named twice", "name every scan once")
        known.add(path.resolve())
    numbers = [_number(path) for path in ordered]
    told = [number for number in numbers if number is not None and 0 < number <= _LARGEST]
    if len(told) < len(numbers) or sorted(set(told)) != told:
        told = list(range(1, len(ordered) + 1))
    return tuple(
        NamedScan(reel=str(number), path=path) for number, path in zip(told, ordered, strict=True)
    )


def film_named_by(paths: Sequence[Path]) -> str:
    """Return a title for a film: the name of the folder that its first scan is in."""
    return paths[0].resolve().parent.name or "film"


def _key(path: Path) -> list[tuple[int, int, str]]:
    """Return what a path is ordered by: its texts, and its numbers as numbers."""
    return [
        (0, int(part), "") if part.isdigit() else (1, 0, part.casefold())
        for part in _DIGITS.split(str(path))
        if part
    ]


def _number(path: Path) -> int | None:
    """Return the last number in a scan's name; of numbered files that before their own.

    Where there is none before it, that of their folder.
    """
    name = path.name
    if _NUMBERING.search(name):
        name = f"{path.parent.name} {_NUMBERING.split(name)[0]}"
    else:
        name = path.stem
    found = _DIGITS.findall(name)
    return int(found[-1]) if found and len(found[-1]) < len(str(_LARGEST)) + 1 else None
