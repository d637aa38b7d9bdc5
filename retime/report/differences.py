"""What two sides say of one thing, where they do not say the same."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from retime.report.numbers import exact

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping

__all__ = ["Difference", "Meant", "both", "difference", "listed_words", "natural", "paired", "told"]

_NUMBERS = re.compile(r"(\d+)")
_ABSENT = "there"
_MOST_WORDS = 10


class Meant(Struct, frozen=True, eq=False):
    """What is compared by its ``key`` and told as ``text``; ``full`` tells more where it has to."""

    key: Hashable
    text: str
    full: str = ""

    def __eq__(self, other: object) -> bool:
        """Tell whether the same is meant, however it is written."""
        return isinstance(other, Meant) and self.key == other.key

    def __hash__(self) -> int:
        """Return what is the same for all that mean the same."""
        return hash(self.key)

    def __str__(self) -> str:
        """Return how it is told."""
        return self.text


class Difference(Struct, frozen=True, kw_only=True):
    """What two sides say of one thing: of whom, what, and both answers; None for none.

    ``what`` is ``there`` of a thing that one side does not have. Where ``what`` has several things,
    ``item`` is the one that differs, by its own name, and ``key`` in what, None for one that one
    side does not have; ``item`` is None where their order differs.
    """

    of: str
    what: str
    left: str | None
    right: str | None
    item: str | None = None
    key: str | None = None


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


def difference(
    of: str, what: str, left: Any, right: Any, part: tuple[str | None, str | None] = (None, None)
) -> Difference | None:
    """Return the difference between two answers; ``part`` is the item and the key of which.

    None where they are the same, and where nothing that can be told of them differs.
    """
    if left == right:
        return None
    ours, others = _said(left), _said(right)
    if ours == others:
        ours, others = _said(left, fully=True), _said(right, fully=True)
    if ours == others:
        return None
    item, key = part
    return Difference(of=of, what=what, left=ours, right=others, item=item, key=key)


def listed_words(words: Iterable[object], *, fully: bool = False) -> str:
    """Return words one by one, after ten of them only how many more, or ``fully``."""
    every = list(map(str, words))
    more = 0 if fully else max(len(every) - _MOST_WORDS, 0)
    shown = every[: len(every) - more]
    return ", ".join(shown) + (f" and {more} more" if more else "")


def _said(value: Any, *, fully: bool = False) -> str | None:
    """Return a value of a map as a person reads it."""
    match value:
        case None:
            said = ""
        case bool():
            said = "yes" if value else "no"
        case str():
            said = str(value)
        case Meant():
            said = (value.full if fully else "") or value.text
        case Fraction():
            said = exact(value)
        case tuple():
            said = listed_words(value, fully=fully)
        case _:
            said = str(getattr(value, "name", None) or value)
    return said or None


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
