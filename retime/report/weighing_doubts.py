"""What a weighing hangs on, in sentences: single items, items at odds, what would settle it."""

from __future__ import annotations

from fractions import Fraction
from math import exp, sqrt
from typing import TYPE_CHECKING

from retime.evidence.model import Kind, Question
from retime.evidence.verdict import STRONG, Standing
from retime.film.rounding import half_up
from retime.report.weighing_measures import factor_said, fps, joined, span_said, speed

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.evidence.conflicts import Conflict
    from retime.evidence.model import Implied, Item
    from retime.evidence.settling import Settling
    from retime.evidence.verdict import Verdict
    from retime.evidence.weighing import Answer, Weighing, Without

__all__ = [
    "carrier_said",
    "conflict_said",
    "settling_purpose",
    "settling_said",
    "settling_title",
    "spoken_for_said",
    "suspect_said",
]

_HARDLY = 1.05
_BOTH = 2
_UNSURE = 60  # per cent of its length, within which a pendulum is not known but guessed


def spoken_for_said(answer: Answer, without: Without) -> str:
    """Return which of the two leading candidates an item speaks for, and how much."""
    if len(answer.ranked) < _BOTH:
        return ""
    first, second = (speed(one.speed) for one in answer.ranked[:2])
    factor = exp(min(700.0, abs(without.shift)))
    if factor < _HARDLY:
        return "neither"
    for_one, over = (first, second) if without.shift > 0 else (second, first)
    return f"{for_one} over {over}, {factor_said(factor)} times"


def carrier_said(answer: Answer) -> str:
    """Return what a verdict hangs on; "" where a single item speaks."""
    if answer.carrier is None:
        return "A single item speaks to it, and all hangs on that."
    one = next(one for one in answer.without if one.item == answer.carrier)
    if not one.turns:
        return f"No single item turns the verdict; {one.item} carries most of it."
    turning = sum(other.turns for other in answer.without)
    more = f" ({turning} items would turn it)" if turning > 1 else ""
    return f"The verdict hangs on {one.item}{more}: without it, {_left(one.verdict)}."


def _left(verdict: Verdict | None) -> str:
    if verdict is None:
        return "nothing would speak to it"
    speeds = [speed(one) for one in sorted(verdict.presentable)]
    match verdict.standing:
        case Standing.NONE:
            return "none of the candidates would stand"
        case Standing.UNDECIDED:
            return f"{joined(speeds, 'and')} fps could not be told apart"
        case Standing.LEADING:
            return f"{speeds[0]} fps would lead"


def conflict_said(conflict: Conflict, items: Iterable[Item]) -> str:
    """Return in words what cannot both hold."""
    below, above = fps(conflict.below), fps(conflict.above)
    gap = fps(conflict.above - conflict.below)
    if not conflict.within_one:
        slower, faster = conflict.slower, conflict.faster
        return (
            f"{slower} and {faster} cannot both hold: {slower} allows no speed of "
            f"{conflict.question} above {below} fps, {faster} none below {above}, {gap} fps apart."
        )
    item = next(one for one in items if one.id == conflict.slower)
    slow_part = next((one for one in item.implied if one.highest == conflict.below), None)
    fast_part = next((one for one in item.implied if one.lowest == conflict.above), None)
    return (
        f"{item.id} is at odds with itself: {_part(slow_part)} allows no speed of "
        f"{conflict.question} above {below} fps, {_part(fast_part)} none below {above}, "
        f"{gap} fps apart."
    )


def _part(implied: Implied | None) -> str:
    """Return what of an item says something; neither part need have a name."""
    return "one part" if implied is None else f"what it says of {implied.part or implied.said}"


def suspect_said(weighing: Weighing) -> str:
    """Return which item to look at first, or ""."""
    if weighing.suspect is None:
        return ""
    return f"{weighing.suspect} stands in more conflicts than any other: look at it first."


def settling_title(answer: Answer) -> str:
    """Return what the list of documents is, "" where it would be of no use."""
    if answer.verdict.standing is Standing.NONE or answer.verdict.factor is None:
        return ""
    settled = answer.verdict.factor > STRONG
    return "What would put it to the test" if settled else "What would settle it"


def settling_purpose(answer: Answer) -> str:
    """Return what the documents are for."""
    first, second = (speed(one.speed) for one in answer.ranked[:2])
    return (
        f"To tell {first} from {second} fps by a factor of {STRONG:.0f} takes one more document "
        "that is right, such as"
    )


def settling_said(answer: Answer) -> tuple[tuple[Settling, str], ...]:
    """Return the documents that would tell the two leading candidates apart, each in words.

    Told are those that speak to the question itself.
    """
    told = ((one, _document(answer, one)) for one in answer.settling)
    return tuple((one, words) for one, words in told if words)


def _document(answer: Answer, one: Settling) -> str:
    """Return a kind of document that speaks to the question, and how exact it would have to be."""
    question = answer.question
    if one.kind is Kind.INSTRUCTION and one.within is not None:
        what = {
            Question.TAKING: "a camera's counter or a note of its speed",
            Question.SHOWING: "an instruction of a speed",
            Question.LOOKING: "viewers who agree on a speed",
        }[question]
        return f"{what}, within {fps(one.within)} fps"
    if one.kind is Kind.RUNTIME and one.within is not None and question is Question.SHOWING:
        asked = next(each.within for each in answer.settling if each.kind is Kind.INSTRUCTION)
        first, second = (float(each.speed.fps) for each in answer.ranked[:2])
        told = f"{100 * float(asked or 0) / sqrt(first * second):.1f} %"
        return f"a running time, within {told} ({span_said(one.within)} of this print's)"
    if one.kind is not Kind.MOTION or question is not Question.TAKING:
        return ""
    if one.count is not None:
        if one.count == 1:
            return "the steps of one person who walks"
        return f"the steps of {one.count:,} people who do not walk in step"
    share = one.within or Fraction(0)
    known = (
        "even if its length is guessed"
        if share > _UNSURE
        else f"its length known within {half_up(share)} %"
    )
    return f"a pendulum or a fall, {known}"
