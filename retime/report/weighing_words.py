"""A weighing in sentences: what may be said, and which question it answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.evidence.support import FASTEST, SLOWEST
from retime.evidence.verdict import MENTION, Standing, strength
from retime.report.weighing_measures import ASKED, HAPPENED, factor_said, fps, joined, plain, speed

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.evidence.model import Item, Link
    from retime.evidence.verdict import Verdict
    from retime.evidence.weighing import Answer, Weighing

__all__ = [
    "FACTORS",
    "WORDINGS",
    "best_said",
    "groups_said",
    "left_out_said",
    "link_said",
    "notes_on",
    "overall_said",
    "presented_said",
    "strengths_of",
    "verdict_said",
]

FACTORS = (
    "Factors hold as far as the items have nothing to do with one another and are as trustworthy "
    "as is stated: they are good for their order, not for their figures."
)
"""How far factors can be taken."""

WORDINGS = (
    'R. E. Kass and A. E. Raftery, "Bayes Factors", Journal of the American Statistical '
    "Association 90 (1995), 773-795."
)
"""Where the words for factors are published."""

_BOTH = 2
_COUNTED = ("no", "one", "two", "three")


def overall_said(weighing: Weighing) -> str:
    """Return what all questions come to together; "" where fewer than two are answered."""
    if len(weighing.answers) < _BOTH:
        return ""
    told = ", ".join(_answered(answer) for answer in weighing.answers)
    told = told[0].upper() + told[1:]
    found = [frozenset(answer.verdict.presentable) for answer in weighing.answers]
    if not all(found):
        return f"{told}."
    if all(len(speeds) == 1 for speeds in found):
        count = len(set(found))
        return f"{told}: {_COUNTED[count]} answer{'' if count == 1 else 's'}."
    shared = sorted(frozenset.intersection(*found))
    which = "both" if len(found) == _BOTH else "all three"
    if not shared:
        return f"{told}: no one speed answers {which}."
    return f"{told}: {joined([speed(one) for one in shared], 'or')} fps would answer {which}."


def _answered(answer: Answer) -> str:
    """Return ``shown at 20 or 22``."""
    happened, speeds = HAPPENED[answer.question], sorted(answer.verdict.presentable)
    if not speeds:
        return f"{happened} at none of the candidates"
    about = "about " if len(speeds) == 1 else ""
    return f"{happened} at {about}{joined([speed(one) for one in speeds], 'or')}"


def verdict_said(answer: Answer) -> str:
    """Return the verdict in a sentence or two, with the question that it answers."""
    asked = ASKED[answer.question]
    asked = asked[0].upper() + asked[1:]
    verdict, order = answer.verdict, answer.ranked
    if verdict.standing is Standing.NONE:
        return f"{asked}: {_none(answer)}"
    if verdict.standing is Standing.UNDECIDED:
        return f"{asked}: undecided. {_undecided(answer)}{_wanting(answer)}"
    leader = speed(order[0].speed)
    if verdict.factor is None:
        return f"{asked}: {leader} fps, the only candidate, stands.{_wanting(answer)}"
    return (
        f"{asked}: {leader} fps leads. It is supported {factor_said(verdict.factor)} times as much "
        f"as {speed(order[1].speed)} fps, the next ({verdict.words}).{_wanting(answer)}"
    )


def _undecided(answer: Answer) -> str:
    near = answer.verdict.presentable
    speeds = joined([speed(one) for one in sorted(near)], "and")
    factor = answer.curve.factor(near[0], near[-1])
    within, all_of_them = "factor ", "both"
    if len(near) > _BOTH:
        within, all_of_them = "the first and the last by a factor of ", "all of them"
    return (
        f"{speeds} fps cannot be told apart ({within}{factor_said(factor)}, {strength(factor)}); "
        f"{all_of_them} are worth presenting."
    )


def _none(answer: Answer) -> str:
    leader = answer.ranked[0].speed
    factor = answer.curve.factor_of_best(leader)
    return (
        f"none of the candidates. {fps(answer.curve.best)} fps is supported {factor_said(factor)} "
        f"times as much as {speed(leader)} fps, the best of them ({strength(factor)}): "
        "name candidates near it, or look for what is wrong in what speaks for it."
    )


def _wanting(answer: Answer) -> str:
    """Return a sentence where another speed is worth more than a mention beside the leader."""
    factor = answer.curve.factor_of_best(answer.ranked[0].speed)
    if factor <= MENTION:
        return ""
    return (
        f" But {fps(answer.curve.best)} fps, which is no candidate, is supported "
        f"{factor_said(factor)} times as much as {speed(answer.ranked[0].speed)} fps "
        f"({strength(factor)})."
    )


def best_said(answer: Answer) -> str:
    """Return the most supported speed, and what it means where it lies at an end of the span."""
    best = answer.curve.best
    told = f"{fps(best)} fps"
    if best in {SLOWEST, FASTEST}:
        side = "above" if best == FASTEST else "below"
        return f"{told}, where the span that is weighed ends: it may lie {side}"
    return told


def notes_on(answer: Answer, items: Iterable[Item]) -> tuple[str, ...]:
    """Return what a reader has to know of where an answer comes from."""
    mine = [item for item in items if item.id in answer.curve.items]
    if any(item.question is answer.question for item in mine):
        return ()
    others = sorted({str(item.question) for item in mine})
    return (f"Nothing speaks of it directly: all comes over a link, from {joined(others, 'and')}.",)


def strengths_of(answer: Answer) -> list[tuple[str, str]]:
    """Return each published wording with the pairs of candidates it holds for, weakest first."""
    found: dict[str, list[str]] = {}
    for pair in sorted(answer.pairs, key=lambda pair: pair.factor):
        told = f"{speed(pair.first)} over {speed(pair.second)} ({factor_said(pair.factor)})"
        found.setdefault(strength(pair.factor), []).append(told)
    return [(words, ", ".join(pairs)) for words, pairs in found.items()]


def presented_said(verdict: Verdict | None) -> str:
    """Return which speeds would be presented."""
    if verdict is None:
        return "nothing speaks to it"
    return ", ".join(speed(one) for one in sorted(verdict.presentable)) or "none"


def link_said(link: Link) -> str:
    """Return what is taken to join two questions."""
    low, high = plain(link.low, 4), plain(link.high, 4)
    times = low if link.low == link.high else f"{low} to {high}"
    return f"Taken as given: the speed of {link.question} is {times} times that of {link.of}."


def groups_said(items: Iterable[Item]) -> tuple[str, ...]:
    """Return which items copy one another."""
    groups: dict[str, list[str]] = {}
    for item in items:
        if item.group is not None:
            groups.setdefault(item.group, []).append(item.id)
    return tuple(
        f"{name}: {joined(members, 'and')} go back to one another, and count once."
        for name, members in groups.items()
        if len(members) > 1
    )


def left_out_said(items: Iterable[Item]) -> tuple[str, ...]:
    """Return which items are told and weigh nothing."""
    return tuple(f"{item.id}: trust 0, weighs nothing." for item in items if not item.trust)
