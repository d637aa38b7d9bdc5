"""Film frames coded once and shown for two or three fields each by MPEG-2's repeat flags.

With progressive_sequence 0, a progressive frame is shown for two fields, or for three where its
repeat_first_field says that the first comes back after the second; top_field_first says which is
first (ISO/IEC 13818-2, section 6.3.10, as FFmpeg's MPEG-2 decoder has it).
"""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

__all__ = ["RepeatFlags", "groups", "repeat_flags", "spread", "why_not"]

_TWO, _THREE = 2, 3


class RepeatFlags(Struct, frozen=True, kw_only=True):
    """What a coded picture says of its display: which field is first, whether it comes back."""

    top_first: bool
    repeat_first: bool

    @property
    def fields(self) -> int:
        """For how many fields the picture is shown."""
        return _THREE if self.repeat_first else _TWO


def why_not(runs: Iterable[int]) -> str | None:
    """Return why flags cannot carry film frames shown for so many fields each, None if they can.

    18 in 60 fields is 3:3:4 and needs a 4, 16 is 3:4:4:4; a frame shown for one field stands
    faster than the fields come in pairs.
    """
    total = 0
    for run in runs:
        if run not in {_TWO, _THREE}:
            return f"a film frame takes {run} fields, and repeat flags carry 2 or 3"
        total += run
    return "the last film frame ends half-way through an output frame" if total % 2 else None


def repeat_flags(runs: Iterable[int], *, top_first: bool) -> Iterator[RepeatFlags]:
    """Yield the flags of every picture, shown for so many fields each, 2 or 3.

    ``top_first`` is whether the first field of all is a top one. A picture of three fields leaves
    the next one to begin with the other field.
    """
    for run in runs:
        yield RepeatFlags(top_first=top_first, repeat_first=run == _THREE)
        top_first ^= run == _THREE


def spread(fields: int) -> tuple[int, ...]:
    """Return how a film frame held for so many fields, 2 or more, is shared between pictures.

    It is coded again after every two fields; an odd number ends with three.
    """
    return (*(_TWO for _ in range(fields // 2 - 1)), _TWO + fields % 2)


def groups(runs: Sequence[int], most_fields: int, starts: Collection[int] = ()) -> list[int]:
    """Return the first picture of every group, none of which shows more than ``most_fields``.

    Every picture in ``starts`` begins one, so that a player can be sent there. Beside those, a
    group begins where the film has shown whole frames, that is with the field that the film
    begins with, wherever the limit leaves room for that. ``most_fields`` is 3 or more.
    """
    wanted = frozenset(starts)
    firsts: list[int] = []
    begun = even = even_field = 0
    for number, (run, field) in enumerate(zip(runs, accumulate(runs, initial=0), strict=False)):
        if not field % 2:
            even, even_field = number, field
        if number == 0 or number in wanted:
            firsts.append(number)
            begun = field
        while field + run - begun > most_fields:
            first, begun = (even, even_field) if even > firsts[-1] else (number, field)
            firsts.append(first)
    return firsts
