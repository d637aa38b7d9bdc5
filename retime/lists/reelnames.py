"""The names that reels have in an EDL: eight letters and digits at most, and no reserved ones."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from retime.lists.edl_events import AUXILIARY, BLACK
from retime.lists.edl_writing import ascii_of

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["LONGEST", "edl_names"]

LONGEST = 8
"""Letters and digits of a reel's name in an EDL (CMX 3600, from memory)."""

_OTHER = re.compile(r"[^A-Z0-9]")
_RESERVED = BLACK | AUXILIARY | {"BARS", "M2", "C", "V", "A", "B"}


def edl_names(names: Iterable[str]) -> dict[str, str]:
    """Return the EDL's name of every reel, each its own.

    A number has three digits at least, as tapes were numbered; of others what is no letter or
    digit is left out, and what is too long or taken ends in a number.
    """
    found: dict[str, str] = {}
    for name in names:
        found[name] = _free(_plain(name), set(found.values()))
    return found


def _plain(name: str) -> str:
    bare = _OTHER.sub("", ascii_of(name).upper())
    if bare.isdecimal() and len(bare) <= LONGEST:
        return f"{int(bare):03}"
    return bare if bare and bare not in _RESERVED else f"R{bare}"


def _free(name: str, taken: set[str]) -> str:
    cut, number = name[:LONGEST], 1
    while cut in taken:
        number += 1
        cut = f"{name[: LONGEST - len(str(number))]}{number}"
    return cut
