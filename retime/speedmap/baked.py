"""The cadence baked into a reel's scan, as a map says it, and what can be sifted from it."""

from __future__ import annotations

import re
from enum import StrEnum
from itertools import cycle, pairwise
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.speedmap.sifting import Sifting
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

__all__ = [
    "Baked",
    "BakedFrom",
    "parse_baked",
    "sifting_of_fields",
    "sifting_of_pattern",
    "sifting_of_runs",
]

_PATTERN = re.compile(
    r"(?P<runs>[1-9][0-9]?(?::[1-9][0-9]?){0,63})(?P<fields> fields (?P<order>top|bottom)-first)?"
    r"(?: from (?P<start>[0-9]{1,9}))?"
)
_HINT = (
    "write detect, the name of a file that retime detect wrote (x.yaml), or runs from a scan frame "
    "on: 1:1:2:1:1 from 24, or 2:3 fields top-first from 24"
)


class BakedFrom(StrEnum):
    """Where it is known from."""

    DETECT = "detect"
    """From the pictures, looked at anew."""
    FILE = "file"
    """From what was found before and kept."""
    PATTERN = "pattern"


class Baked(Struct, frozen=True, kw_only=True):
    """A cadence as it was said.

    ``runs`` are how many scan frames, or fields with ``in_fields``, each film frame has in turn;
    the first of them begins at scan frame ``start``, None for the reel's first.
    """

    text: str
    known: BakedFrom
    runs: tuple[int, ...] = ()
    in_fields: bool = False
    top_first: bool = True
    start: int | None = None


def parse_baked(text: str) -> Baked:
    """Read ``detect``, a file's name, or runs from a scan frame on; raises NotationError."""
    written = text.strip()
    if written == BakedFrom.DETECT:
        return Baked(text=written, known=BakedFrom.DETECT)
    if written.endswith((".yaml", ".yml")):
        return Baked(text=written, known=BakedFrom.FILE)
    found = _PATTERN.fullmatch(written)
    if not found:
        raise NotationError(f"{quoted(text)} is no cadence", _HINT)
    runs = tuple(map(int, found["runs"].split(":")))
    in_fields = found["fields"] is not None
    if in_fields and min(runs) < 2:  # noqa: PLR2004 - a film frame has two fields
        raise NotationError("a film frame has at least two fields", "write 2:3 fields top-first")
    return Baked(
        text=written,
        known=BakedFrom.PATTERN,
        runs=runs,
        in_fields=in_fields,
        top_first=found["order"] != "bottom",
        start=None if found["start"] is None else int(found["start"]),
    )


def sifting_of_pattern(baked: Baked, first: int, last: int) -> Sifting:
    """Return the film frames that a pattern has between two scan frames, both included."""
    start = first if baked.start is None else baked.start
    if not baked.in_fields:
        return sifting_of_runs(_begun(baked.runs, start, first, last + 1))
    fields = _begun(baked.runs, 2 * start, 2 * first, 2 * last + 2)
    return sifting_of_fields([*fields, 2 * last + 2], top_first=baked.top_first)


def sifting_of_runs(begun: Iterable[int]) -> Sifting:
    """Return film frames that each begin with a whole scan frame."""
    return Sifting(names=tuple(begun), woven={})


def sifting_of_fields(begun: Sequence[int], *, top_first: bool) -> Sifting:
    """Return film frames by the fields in which they begin, and the field after the last.

    Fields count two to a scan frame, in the order of time. A film frame of which only one field is
    there, at either end, is left out.
    """
    names: list[int] = []
    woven: dict[int, tuple[int, int]] = {}
    for first, stop in pairwise(begun):
        held = _fields_of(range(first, stop), top_first=top_first)
        if held is None:
            continue
        if held[0] != held[1] or held[0] != first // 2:
            woven[len(names)] = held
        names.append(first // 2)
    return Sifting(names=tuple(names), woven=woven)


def _fields_of(fields: range, *, top_first: bool) -> tuple[int, int] | None:
    """Return the scan frames of an upper and a lower field, of one frame if that can be."""
    whole = next((field // 2 for field in fields if field % 2 == 0 and field + 1 in fields), None)
    if whole is not None:
        return whole, whole
    upper = [field // 2 for field in fields if (field % 2 == 0) is top_first]
    lower = [field // 2 for field in fields if (field % 2 == 0) is not top_first]
    return (upper[0], lower[0]) if upper and lower else None


def _begun(runs: Sequence[int], start: int, first: int, stop: int) -> Iterator[int]:
    """Yield where runs begin from ``first`` to before ``stop``; one of the first begins at start.

    A run that is under way at ``first`` begins there.
    """
    whole = sum(runs)
    at = start + (first - start) // whole * whole
    for run in cycle(runs):
        if at >= stop:
            return
        if at + run > first:
            yield max(at, first)
        at += run
