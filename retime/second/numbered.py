"""A folder of numbered files, as it lies there: names and numbers, and what lies beside them."""

from __future__ import annotations

import json
import re
import struct
from collections import Counter
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import ScanError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["NumberedFacts", "dpx_rate", "numbered_facts", "values_beside"]

_NAME = re.compile(r"(?P<stem>.*?)(?P<number>\d+)(?P<ending>\.\w+)", re.ASCII)
_ABOUT = "about.json"
# SMPTE ST 268 (DPX 2.0), from memory: where the rate stands in the film and television headers.
_DPX_RATES = (1724, 1940)
_DPX_HEADERS = 2048
_DPX_ORDERS = {b"SDPX": ">f", b"XPDS": "<f"}
_MOST_TERMS = 1001
_FASTEST = 1000


class NumberedFacts(Struct, frozen=True, kw_only=True):
    """The files of a folder that share a name but for its number.

    ``stem`` is what stands before the number, ``ending`` after it, ``digits`` how many the first
    file's has. ``holes`` are ranges of numbers that are missing, first and last; ``others`` are
    the names of what else lies there.
    """

    stem: str
    ending: str
    digits: int
    first_number: int
    count: int
    holes: tuple[tuple[int, int], ...]
    others: tuple[str, ...]

    def name(self, number: int) -> str:
        """Return the name of a file."""
        return f"{self.stem}{number:0{self.digits}}{self.ending}"


def numbered_facts(folder: Path) -> NumberedFacts:
    """Look at a folder; raises ScanError where it holds no numbered files."""
    names = sorted(one.name for one in folder.iterdir())
    found = [match for name in names if (match := _NAME.fullmatch(name))]
    if not found:
        raise ScanError(folder, "holds no numbered files")
    kinds = Counter((one["stem"], one["ending"]) for one in found)
    stem, ending = kinds.most_common(1)[0][0]
    ours = [one for one in found if (one["stem"], one["ending"]) == (stem, ending)]
    numbers = sorted({int(one["number"]) for one in ours})
    kept = {one.string for one in ours} | {_ABOUT}
    return NumberedFacts(
        stem=stem,
        ending=ending,
        digits=len(min(ours, key=lambda one: int(one["number"]))["number"]),
        first_number=numbers[0],
        count=len(ours),
        holes=tuple((one + 1, other - 1) for one, other in pairwise(numbers) if other > one + 1),
        others=tuple(name for name in names if name not in kept),
    )


def values_beside(folder: Path) -> dict[str, str]:
    """Return what the folder's ``about.json`` says; nothing where there is none to be read."""
    try:
        said = json.loads((folder / _ABOUT).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(said, dict):
        return {}
    return {str(key).lower(): value for key, value in said.items() if isinstance(value, str)}


def dpx_rate(path: Path) -> Fraction | None:
    """Return the rate in a DPX file's header, which the program reads and does not tell.

    None where the file is no DPX, says none, or says two; single precision is taken for the
    simplest rate that is near it.
    """
    with path.open("rb") as file:
        head = file.read(_DPX_HEADERS)
    order = _DPX_ORDERS.get(head[:4])
    if order is None or len(head) < _DPX_HEADERS:
        return None
    told = [struct.unpack_from(order, head, at)[0] for at in _DPX_RATES]
    rates = {rate for rate in told if 0 < rate < _FASTEST}
    return Fraction(rates.pop()).limit_denominator(_MOST_TERMS) if len(rates) == 1 else None
