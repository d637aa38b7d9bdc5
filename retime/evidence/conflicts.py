"""Items that cannot both hold, and what one item says against itself."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from retime.evidence.model import Implied, Item, Link, Question

__all__ = ["Conflict", "conflicts", "suspect"]


class Conflict(Struct, frozen=True, kw_only=True):
    """Two items, or two parts of one, whose speeds have nothing in common.

    ``slower`` allows no speed above ``below``, ``faster`` none under ``above``, told in the speeds
    of ``question``.
    """

    slower: str
    faster: str
    below: Fraction
    above: Fraction
    question: Question

    @property
    def within_one(self) -> bool:
        """Say whether an item is at odds with itself."""
        return self.slower == self.faster


def conflicts(items: Sequence[Item], links: Sequence[Link]) -> tuple[Conflict, ...]:
    """Return all pairs that cannot both hold, items without trust left aside."""
    trusted = [item for item in items if item.trust]
    found = [one for item in trusted for one in _against_itself(item)]
    for first, second in combinations(trusted, 2):
        bounds = _factor(links, first.question, second.question, set())
        if bounds is not None:
            found += _between(first, second, bounds)
    return tuple(found)


def suspect(found: Iterable[Conflict], items: Sequence[Item]) -> str | None:
    """Return the item that stands in conflict with more others than any, None where none does.

    Items of a group count once: copies of a document do not outvote what contradicts it. Of copies
    that are suspect together, the first written is returned.
    """
    voices = {item.id: (item.group, None if item.group else item.id) for item in items}
    against: dict[str, set[tuple[str | None, str | None]]] = {}
    for one in found:
        if not one.within_one:
            against.setdefault(one.slower, set()).add(voices[one.faster])
            against.setdefault(one.faster, set()).add(voices[one.slower])
    most = max(map(len, against.values()), default=0)
    worst = [item.id for item in items if len(against.get(item.id, ())) == most > 0]
    return worst[0] if len({voices[name] for name in worst}) == 1 else None


def _against_itself(item: Item) -> Iterable[Conflict]:
    for first, second in combinations(item.implied, 2):
        found = _apart(first, second, (Fraction(1), Fraction(1)))
        if found:
            below, above, _ = found
            yield Conflict(
                slower=item.id, faster=item.id, below=below, above=above, question=item.question
            )


def _between(first: Item, second: Item, bounds: tuple[Fraction, Fraction]) -> list[Conflict]:
    """Return the conflict of two items, if none of what one implies goes with the other's."""
    pairs = [_apart(one, two, bounds) for one in first.implied for two in second.implied]
    if None in pairs or not pairs:
        return []
    told = [pair for pair in pairs if pair is not None]
    below, above, forth = min(told, key=lambda pair: pair[1] - pair[0])
    slower, faster = (first, second) if forth else (second, first)
    return [
        Conflict(
            slower=slower.id, faster=faster.id, below=below, above=above, question=first.question
        )
    ]


def _apart(
    first: Implied, second: Implied, bounds: tuple[Fraction, Fraction]
) -> tuple[Fraction, Fraction, bool] | None:
    """Return the gap between two speeds, and whether the first is the slower; None without one.

    The first's question has ``bounds`` times the speed of the second's.
    """
    low = None if second.lowest is None else second.lowest * bounds[0]
    high = None if second.highest is None else second.highest * bounds[1]
    if first.highest is not None and low is not None and first.highest < low:
        return first.highest, low, True
    if high is not None and first.lowest is not None and high < first.lowest:
        return high, first.lowest, False
    return None


def _factor(
    links: Sequence[Link], question: Question, of: Question, seen: set[int]
) -> tuple[Fraction, Fraction] | None:
    """Return by what one question's speed may differ from another's; None where nothing says so."""
    if question is of:
        return Fraction(1), Fraction(1)
    for place, link in enumerate(links):
        if place in seen or question not in {link.question, link.of}:
            continue
        forth = link.question is question
        rest = _factor(links, link.of if forth else link.question, of, seen | {place})
        if rest is not None:
            step = (link.low, link.high) if forth else (1 / link.high, 1 / link.low)
            return step[0] * rest[0], step[1] * rest[1]
    return None
