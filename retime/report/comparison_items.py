"""Things of which a map has several in a row, matched one by one, so that each can be told."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any, NamedTuple

from msgspec import Struct

from retime.report.differences import Difference, Meant, difference, listed_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

__all__ = ["Item", "items_apart", "order_apart"]


class Item(Struct, frozen=True, kw_only=True):
    """One of several things.

    ``fields`` are its answers by what they are to, ``label`` what it is called and ``said`` the
    thing as a whole. ``by`` is what it can be known by on the other side, the surest first; two of
    one key are the same thing, called by that key's text.
    """

    label: str
    said: str
    fields: Mapping[str, Any]
    by: tuple[Meant | None, ...]


class _Pair(NamedTuple):
    """A thing on either side, by its place there; None on the side that does not have it."""

    label: str
    left: int | None
    right: int | None

    @property
    def place(self) -> tuple[int, str]:
        return min(at for at in (self.left, self.right) if at is not None), self.label


def items_apart(
    of: str, what: str, ours: Sequence[Item], others: Sequence[Item]
) -> Iterator[Difference | None]:
    """Yield what differs between the things of either side, and which only one side has."""
    for label, left, right in sorted(_pairs(ours, others), key=lambda pair: pair.place):
        if left is None or right is None:
            yield Difference(
                of=of,
                what=what,
                left=None if left is None else ours[left].said,
                right=None if right is None else others[right].said,
                item=label,
            )
            continue
        one, other = ours[left].fields, others[right].fields
        for key in dict.fromkeys((*sorted(one), *sorted(other))):
            yield difference(of, what, one.get(key), other.get(key), (label, key))


def order_apart(
    of: str, what: str, ours: Sequence[Item], others: Sequence[Item], place: str | None = None
) -> Iterator[Difference]:
    """Yield where things that both sides have do not come in one order.

    With ``place`` only those count that have one answer to it, each place by itself.
    """
    found = [
        (one.label, one.left, one.right)
        for one in _pairs(ours, others)
        if one.left is not None and one.right is not None
    ]
    if place is not None:
        found = [one for one in found if ours[one[1]].fields[place] == others[one[2]].fields[place]]
    found.sort(key=lambda one: (_place_of(ours[one[1]], place), one[1]))
    for _, group in groupby(found, key=lambda one: _place_of(ours[one[1]], place)):
        inside = list(group)
        turned = sorted(inside, key=lambda one: one[2])
        if turned != inside:
            left, right = (listed_words(one[0] for one in side) for side in (inside, turned))
            yield Difference(of=of, what=what, left=left, right=right, key="order")


def _place_of(item: Item, place: str | None) -> str:
    return "" if place is None else repr(getattr(item.fields[place], "key", None))


def _pairs(ours: Sequence[Item], others: Sequence[Item]) -> list[_Pair]:
    """Return which things are the same: those that differ in nothing, then by what they have."""
    left, right = dict(enumerate(ours)), dict(enumerate(others))
    found: list[_Pair] = []
    ways = max((len(item.by) for item in (*ours, *others)), default=0)
    for way in (None, *range(ways)):
        waiting: dict[object, list[int]] = {}
        for at, item in right.items():
            key = _key(item, way)
            if key is not None:
                waiting.setdefault(key, []).append(at)
        for at, item in list(left.items()):
            same = waiting.get(_key(item, way))
            if same:
                there = same.pop(0)
                found.append(_Pair(_label(item, right[there], way), at, there))
                del left[at], right[there]
    found += [_Pair(item.label, at, None) for at, item in left.items()]
    found += [_Pair(item.label, None, at) for at, item in right.items()]
    return found


def _key(item: Item, way: int | None) -> object:
    return (
        tuple(sorted(item.fields.items(), key=lambda one: one[0])) if way is None else item.by[way]
    )


def _label(one: Item, other: Item, way: int | None) -> str:
    """Return what both are called, the same whichever side is which."""
    if way is None:
        return min(one.label, other.label)
    return min(str(one.by[way]), str(other.by[way]))
