"""What is taken to join two questions: ``showing is 1.0 to 1.25 of taking``."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.evidence.model import Link, Question
from retime.film.notation import parse_number
from retime.findings import Finding
from retime.yamldoc.quoting import quoted, suggestion

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from retime.speedmap.place import Where

__all__ = ["SpokenLink", "links_of", "parse_link"]

_RULE = "links"
_HINT = "write showing is 1.0 to 1.25 of taking, or looking is the same as taking"
_LINK = re.compile(
    r"(?P<question>\S+) +is +"
    r"(?:the +same +as|(?P<low>\S+)(?: +to +(?P<high>\S+))? +of) +(?P<of>\S+)"
)


class SpokenLink(Struct, frozen=True, kw_only=True):
    """A link as it was said."""

    question: Question
    low: Fraction
    high: Fraction
    of: Question


def parse_link(text: str) -> SpokenLink:
    """Return the link that a text tells.

    Raises:
        NotationError: it tells none, a question is not known, or its factors do not rise.
    """
    said = _LINK.fullmatch(text.strip())
    if not said:
        raise NotationError(f"{quoted(text)} is no link", _HINT)
    question, of = _question(said["question"]), _question(said["of"])
    low = _factor(said["low"], text) if said["low"] else Fraction(1)
    high = _factor(said["high"], text) if said["high"] else low
    if high < low:
        raise NotationError(f"the factors of {quoted(text)} fall", "write the smaller one first")
    return SpokenLink(question=question, low=low, high=high, of=of)


def _question(word: str) -> Question:
    known = list(Question)
    if word not in known:
        raise NotationError(f"there is no question {quoted(word)}", suggestion(word, known))
    return Question(word)


def _factor(number: str, said: str) -> Fraction:
    return parse_number(number, said=said, noun="link", hint=_HINT)


def links_of(
    spoken: Sequence[SpokenLink], places: Iterable[Where], findings: list[Finding]
) -> tuple[Link, ...]:
    """Return the links; one that joins what is joined already is added to ``findings``."""
    links: list[Link] = []
    joined = {question: {question} for question in Question}
    for one, where in zip(spoken, places, strict=True):
        if one.of in joined[one.question]:
            itself = one.question is one.of
            what = (
                f"the link joins {one.question} with itself"
                if itself
                else f"{one.question} and {one.of} are joined already"
            )
            hint = "two links join three questions; leave this one out"
            findings.append(Finding(place=where.of(), rule=_RULE, text=what, hint=hint))
            continue
        together = joined[one.question] | joined[one.of]
        joined.update(dict.fromkeys(together, together))
        links.append(
            Link(question=one.question, low=one.low, high=one.high, of=one.of, where=where)
        )
    return tuple(links)
