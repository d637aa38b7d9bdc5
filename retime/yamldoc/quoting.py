"""How a document's own words are shown in a message: short, on one line, never misread."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

__all__ = ["listed", "nearest", "quoted", "suggestion"]

_SHOWN = 60
_LISTED = 12
_COMPARED = 2_000


def quoted(text: str) -> str:
    """Return ``text`` in double quotes, cut to 60 characters, unprintable ones escaped."""
    cut = text if len(text) <= _SHOWN else text[:_SHOWN] + "..."
    shown = "".join(c if c.isprintable() else repr(c)[1:-1] for c in cut)
    return f'"{shown}"'


def listed(words: Iterable[str]) -> str:
    """Return the words as ``a, b, c``, the first 12 of them."""
    every = list(words)
    more = f" and {len(every) - _LISTED} more" if len(every) > _LISTED else ""
    return ", ".join(every[:_LISTED]) + more


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that looks most like ``word``, letter case aside, if one does."""
    by_fold = {other.casefold(): other for other in known}
    if len(word) > _SHOWN or len(by_fold) > _COMPARED:
        return None
    close = get_close_matches(word.casefold(), by_fold, n=1, cutoff=0.6)
    return by_fold[close[0]] if close else None


def suggestion(word: str, known: Collection[str]) -> str:
    """Return a hint for an unknown word: the nearest known one, else what is known."""
    close = nearest(word, known)
    if close is not None:
        return f"did you mean {quoted(close)}?"
    return f"known here: {listed(known)}" if known else ""
