"""What two sides say of one thing, where they do not say the same."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from retime.report.numbers import exact

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

__all__ = ["Difference", "both", "difference", "natural", "paired", "told"]

_NUMBERS = re.compile(r"(\d+)")
_ABSENT = "there"


class Difference(Struct, frozen=True, kw_only=True):
    """What two sides say of one thing: of whom, what, and both answers; None for none.

    ``what`` is ``there`` of a thing that one side does not have.
    """

    of: str
    what: str
    left: str | None
    right: str | None


def natural(text: str) -> list[tuple[int, int, str]]:
    """Return a key that sorts names with their numbers read as numbers."""
    return [
        (0, int(part), "") if part.isdecimal() else (1, 0, part)
        for part in _NUMBERS.split(text)
        if part
    ]


def both(one: Iterable[str], other: Iterable[str]) -> list[str]:
    """Return the names of both sides in one order, whichever side they are on."""
    return sorted({*one, *other}, key=lambda name: (natural(name), name))


def told(found: Iterable[Difference | None]) -> Iterator[Difference]:
    """Yield what is a difference."""
    return (one for one in found if one is not None)


def difference(of: str, what: str, left: Any, right: Any) -> Difference | None:
    """Return the difference between two answers, None where they are the same."""
    if left == right:
        return None
    ours, others = _said(left), _said(right)
    if ours == others:  # several things each, told by their number
        ours, others = f"{ours}, other ones", f"{others}, other ones"
    return Difference(of=of, what=what, left=ours, right=others)


def _said(value: Any) -> str | None:
    """Return a value of a map as a person reads it."""
    match value:
        case None:
            return None
        case bool():
            return "yes" if value else "no"
        case str():
            return str(value)
        case Fraction():
            return exact(value)
        case tuple():
            return _several(value)
        case _:
            return str(getattr(value, "name", None) or value)


def _several(values: tuple[Any, ...]) -> str | None:
    """Return words and numbers one by one, and tell of other things how many they are."""
    if all(isinstance(one, str | int) for one in values):
        return ", ".join(map(str, values)) or None
    return f"{len(values)} of them"


def paired(
    sides: tuple[Mapping[str, Any], Mapping[str, Any]],
    fields: Callable[[Any], Mapping[str, Any]],
    said: Callable[[Any], str],
) -> Iterator[Difference | None]:
    """Yield what differs between things of one name, and what only one side has.

    ``fields`` tells a thing's answers by what they are to, and ``said`` the thing as a whole.
    """
    one, other = sides
    for name in both(one, other):
        if name not in one or name not in other:
            ours = said(one[name]) if name in one else None
            others = said(other[name]) if name in other else None
            yield Difference(of=name, what=_ABSENT, left=ours, right=others)
            continue
        left, right = fields(one[name]), fields(other[name])
        for what in left:
            yield difference(name, what, left[what], right[what])
