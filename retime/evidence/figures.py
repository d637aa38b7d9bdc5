"""Figures as documents tell them: one value or a range of two, and within what.

``95 min``, ``95 min within 5 min``, ``95 min within 5 %``, ``90..100 min``. A unit behind the
second value of a range holds for both. What a value looks like depends on what it measures: see
``retime.evidence.families``.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Generic, TypeVar

from msgspec import Struct

from retime.errors import NotationError
from retime.evidence.quantity import Quantity, between, exactly, within
from retime.film.notation import parse_number
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "FINEST",
    "WIDEST",
    "Figure",
    "Share",
    "bounds_of",
    "parse_figure",
    "parse_share",
    "parse_tolerance",
]

_T = TypeVar("_T")
_S = TypeVar("_S")

FINEST = Fraction(1, 2000)
"""The finest tolerance that is believed of what a document mainly says, over its figure."""
WIDEST = Fraction(3, 5)
"""The widest tolerance that still says something, over the figure it belongs to."""

_WITHIN = re.compile(r"\swithin\s")
_VALUE = re.compile(r"[0-9]+(?:[.:+][0-9]+)*(?:/[0-9]+(?![0-9]*ft))?\s*", re.ASCII)
_SHARE_HINT = "write a share such as 5 %"


class Share(Struct, frozen=True):
    """A tolerance told as a share of its figure, above 0."""

    of: Fraction


class Figure(Struct, Generic[_T], frozen=True, kw_only=True):
    """A figure as it was said.

    ``last`` is the upper end of a range, else None. ``tolerance`` is None for a range, and where
    nothing was said.
    """

    text: str
    first: _T
    last: _T | None = None
    tolerance: _T | Share | None = None

    @property
    def bounded(self) -> bool:
        """Say whether it tells within what it holds."""
        return self.last is not None or self.tolerance is not None

    def within(self, tolerance: _T | Share, text: str) -> Figure[_T]:
        """Return the figure with a tolerance that was told elsewhere."""
        said = f"{self.text} within {text}"
        return Figure(text=said, first=self.first, tolerance=tolerance)

    def parts(self) -> tuple[_T, ...]:
        """Return all values that were written."""
        beside = () if isinstance(self.tolerance, Share) else (self.tolerance,)
        return tuple(part for part in (self.first, self.last, *beside) if part is not None)


def parse_figure(text: str, read: Callable[[str], _T]) -> Figure[_T]:
    """Return the figure that a text tells, its values read by ``read``.

    Raises:
        NotationError: it tells none, or a range and a tolerance.
    """
    written = text.strip()
    said = _WITHIN.search(written)
    value, told = (
        (written[: said.start()].rstrip(), written[said.end() :]) if said else (written, None)
    )
    first, dots, last = (part.strip() for part in value.partition(".."))
    if not dots:
        tolerance = None if told is None else parse_tolerance(told, read)
        return Figure(text=written, first=read(value), tolerance=tolerance)
    if told is not None:
        what = f"{quoted(written)} is a range, and within something besides"
        raise NotationError(what, "a range is its own tolerance; leave the rest out")
    unit = last[_length_of_value(last) :]
    bare = _length_of_value(first) == len(first)
    low = f"{first} {unit}" if bare and unit else first
    return Figure(text=written, first=read(low), last=read(last))


def _length_of_value(text: str) -> int:
    found = _VALUE.match(text)
    return found.end() if found else 0


def parse_tolerance(text: str, read: Callable[[str], _T]) -> _T | Share:
    """Return a tolerance: a share of its figure, or a value read by ``read``."""
    written = text.strip()
    return parse_share(written) if written.endswith("%") else read(written)


def parse_share(text: str) -> Share:
    """Return a share, such as ``5 %``."""
    number = text.removesuffix("%").rstrip()
    if not text.endswith("%"):
        raise NotationError(f"{quoted(text)} is no share", _SHARE_HINT)
    return Share(parse_number(number, said=text, noun="share", hint=_SHARE_HINT) / 100)


def bounds_of(figure: Figure[_S], number: Callable[[_S], Fraction]) -> Quantity:
    """Return what a figure comes to; one without a tolerance is exact.

    Raises:
        NotationError: a range runs backwards, a tolerance says nothing, or ``number`` raises it.
    """
    value = number(figure.first)
    if figure.last is not None:
        end = number(figure.last)
        if end <= value:
            what = f"the range {quoted(figure.text)} does not rise"
            raise NotationError(what, "write the smaller figure first")
        told = between(value, end)
    elif figure.tolerance is None:
        return exactly(value)
    elif isinstance(figure.tolerance, Share):
        told = within(value, value * figure.tolerance.of)
    else:
        told = within(value, number(figure.tolerance))
    if told.high - told.value > WIDEST * told.value:
        what = f"{quoted(figure.text)} is so wide that it says nothing"
        raise NotationError(what, "the tolerance is at most 60 % of the figure")
    return told
