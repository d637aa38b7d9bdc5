"""What is drawn of the items that speak to a question: a bar each, in the question's own speeds."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.evidence.support import FASTEST, SLOWEST

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.evidence.model import Evidence, Implied, Item, Link, Question, Sense
    from retime.evidence.weighing import Answer, Weighing

__all__ = ["Bar", "bars_of", "reach", "span_of"]

_LEAST_SPAN = 8
_HALF = 0.5


class Bar(Struct, frozen=True, kw_only=True):
    """A bar: its bounds, and where its centre is marked.

    Of a limit the bounds are those of the limit itself. What comes over a link is widened by it,
    and has no centre; ``over`` is the question that it speaks of, None for the figure's own.
    """

    label: str
    over: Question | None = None
    low: float
    high: float
    centre: float | None
    sense: Sense
    trust: float


def reach(links: Sequence[Link], question: Question) -> dict[Question, tuple[Fraction, Fraction]]:
    """Return by what the speeds of each question are to be multiplied to be those of ``question``.

    Questions that no link leads to are left out.
    """
    found = {question: (Fraction(1), Fraction(1))}
    for _ in links:  # each goes one link further
        for link in links:
            if link.of in found and link.question not in found:
                low, high = found[link.of]
                found[link.question] = low / link.high, high / link.low
            elif link.question in found and link.of not in found:
                low, high = found[link.question]
                found[link.of] = low * link.low, high * link.high
    return found


def bars_of(evidence: Evidence, answer: Answer) -> Iterator[Bar]:
    """Yield the bars of a question: its own items in the order written, then those over links."""
    factors = reach(evidence.links, answer.question)
    own = [item for item in evidence.items if item.question is answer.question]
    for item in own:
        yield from (_bar(item, one) for one in item.implied)
    for question, (low, high) in factors.items():
        for item in evidence.items:
            if item.question is question and item not in own and item.id in answer.curve.items:
                yield from (_carried(item, one, low, high) for one in item.implied)


def _bar(item: Item, implied: Implied) -> Bar:
    return Bar(
        label=_label(item, implied),
        low=float(implied.speed.low),
        high=float(implied.speed.high),
        centre=float(implied.speed.value),
        sense=implied.sense,
        trust=float(item.trust),
    )


def _carried(item: Item, implied: Implied, low: Fraction, high: Fraction) -> Bar:
    return Bar(
        label=_label(item, implied),
        over=item.question,
        low=float(implied.speed.low * low),
        high=float(implied.speed.high * high),
        centre=None,
        sense=implied.sense,
        trust=float(item.trust),
    )


def _label(item: Item, implied: Implied) -> str:
    return f"{item.id}: {implied.part}" if implied.part else item.id


def span_of(evidence: Evidence, weighing: Weighing) -> tuple[float, float]:
    """Return the span of speeds over which all figures are drawn, in whole frames per second.

    It holds the candidates, what items say and where half of the support lies, not every tail.
    """
    shown = [float(one.fps) for one in evidence.candidates]
    for answer in weighing.answers:
        shown += [end for piece in answer.curve.range(_HALF) for end in piece]
        centres = (bar.centre for bar in bars_of(evidence, answer))
        shown += [centre for centre in centres if centre is not None]
    slow = max(SLOWEST, floor(min(shown)) - 1)
    fast = min(FASTEST, ceil(max(shown)) + 1)
    short = max(0.0, _LEAST_SPAN - (fast - slow)) / 2
    return max(SLOWEST, slow - ceil(short)), min(FASTEST, fast + ceil(short))
