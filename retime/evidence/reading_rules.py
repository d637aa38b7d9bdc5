"""How long it takes to read a title: published rules, and any that a document states."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.evidence.families import READING
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from fractions import Fraction

    from retime.evidence.figures import Figure

__all__ = ["RULES", "ReadingRule", "parse_rule"]


class ReadingRule(Struct, frozen=True, kw_only=True):
    """So many seconds a word, reckoned for ``fewest`` words where a title has fewer."""

    text: str
    per_word: Figure[Fraction]
    fewest: int = 1
    source: str = ""


RULES: tuple[ReadingRule, ...] = (
    ReadingRule(
        text="a foot a word",
        per_word=READING.figure("0.8..1.2 s/word"),
        fewest=3,
        source="about a foot a word and never under three: E. W. Sargent, Technique of the "
        "Photoplay, p. 148; a foot is 1 s at 60 ft/min, the camera's speed in his years, 0.8 s at "
        "75 ft/min, and 1.2 s where a title of 12 s gets 10 ft: both Jno. M. Bradlet, On Sub "
        "Titles, Moving Picture World, 27 Feb 1909, p. 235",
    ),
    ReadingRule(
        text="subtitles",
        per_word=READING.figure("0.33..0.375 s/word"),
        source="160 to 180 words a minute: BBC Subtitle Guidelines, section 4",
    ),
)
"""Rules that go by a name, each with where it is published."""


def parse_rule(text: str) -> ReadingRule:
    """Return the rule of that name, or the one that a text states.

    Raises:
        NotationError: it is neither.
    """
    written = text.strip()
    for rule in RULES:
        if rule.text == written:
            return rule
    try:
        return ReadingRule(text=written, per_word=READING.figure(written))
    except NotationError as error:
        names = " or ".join(quoted(rule.text) for rule in RULES)
        raise NotationError(error.text, f"{error.hint}, or one of the rules {names}") from error
