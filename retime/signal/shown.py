"""Which film frame each picture of a transfer shows, told in stretches that can be written down.

Film frames are numbered from 0 through the whole transfer, in the order in which they come. A
stretch says which film frame its first picture shows and by what runs the following ones come; so
what every field of every picture shows can be counted out again, exactly.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.signal.mixtures import Mixture, Rule

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    Numbers = NDArray[np.int64]

__all__ = [
    "FilmFrame",
    "Kind",
    "Mixing",
    "Odd",
    "Space",
    "Stretch",
    "film_frames",
    "films_shown",
    "speed_of",
]


class Kind(StrEnum):
    """What a stretch of pictures is."""

    NEW = "new"
    """Every picture shows another film frame."""
    REPEATS = "repeats"
    FIELDS = "fields"
    """Film frames are shown for so many fields, and some pictures are woven of two."""
    MIXED = "mixed"
    """Pictures are mixed of two film frames."""
    STILL = "still"
    """One picture stands."""
    IRREGULAR = "irregular"


class Space(StrEnum):
    """In what pictures were mixed."""

    CODES = "codes"
    LIGHT = "light"
    UNTOLD = "untold"
    """Both fit, or neither better than the other."""


class Odd(Struct, frozen=True, kw_only=True):
    """A picture that does otherwise than the pattern: it shows a film frame of its own, or none."""

    picture: int
    is_new: bool


class Mixing(Struct, frozen=True, kw_only=True):
    """How pictures of a stretch were mixed.

    Picture k of the stretch stands at film position (start + k film_frames)/outputs, counted from
    the stretch's first film frame.
    """

    film_frames: int
    outputs: int
    start: int
    rule: Rule
    space: Space

    @property
    def mixture(self) -> Mixture:
        """The mixture that begins with the stretch."""
        return Mixture(
            film=self.film_frames, outputs=self.outputs, phase=self.start, rule=self.rule
        )


class Stretch(Struct, frozen=True, kw_only=True):
    """Pictures ``first`` to ``last``, both included, the first of which shows film frame ``film``.

    ``runs`` are how many pictures, or fields where ``kind`` is FIELDS, show one film frame after
    the other over a cycle, and ``phase`` how many of the first run have gone by before the
    stretch; an IRREGULAR stretch has all its runs in full. ``top_first`` says which field comes
    first in time, None where fields do not matter. ``odd`` are pictures that do otherwise.
    """

    first: int
    last: int
    kind: Kind
    film: int
    runs: tuple[int, ...] = (1,)
    phase: int = 0
    top_first: bool | None = None
    odd: tuple[Odd, ...] = ()
    mixing: Mixing | None = None
    confidence: float = 1.0
    note: str = ""

    @property
    def count(self) -> int:
        """How many pictures it has."""
        return self.last - self.first + 1


class FilmFrame(Struct, frozen=True, kw_only=True):
    """Where a film frame is to be had: the pictures that hold its upper and its lower field.

    They are one picture where one holds both. None is a field that no picture holds; of a film
    frame that is only mixed with others, both are None. ``first`` is the picture that shows it
    first, mixed or not.
    """

    number: int
    first: int
    upper: int | None
    lower: int | None


def films_shown(stretches: Sequence[Stretch]) -> tuple[Numbers, Numbers]:
    """Return which film frame the upper and the lower field of each picture show.

    Where a picture is mixed it is the film frame that weighs most in it.
    """
    shown = [_shown(stretch) for stretch in stretches]
    if not shown:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    return (
        np.concatenate([upper for upper, _ in shown]),
        np.concatenate([lower for _, lower in shown]),
    )


def _shown(stretch: Stretch) -> tuple[Numbers, Numbers]:
    count = stretch.count
    match stretch.kind:
        case Kind.STILL:
            films = np.full(count, stretch.film, np.int64)
        case Kind.MIXED if stretch.mixing is not None:
            mixture = stretch.mixing.mixture
            films = stretch.film + np.array(
                [max(mixture.parts(k), key=lambda part: part[1])[0] for k in range(count)], np.int64
            )
        case Kind.FIELDS:
            fields = _counted(stretch, 2 * count)
            first, second = fields[0::2], fields[1::2]
            return (first, second) if stretch.top_first else (second, first)
        case _:
            films = _counted(stretch, count)
    return films, films


def _counted(stretch: Stretch, outputs: int) -> Numbers:
    """Return the film frames of successive pictures or fields by the runs of a stretch."""
    new = np.zeros(outputs, np.int64)
    cycle = np.zeros(sum(stretch.runs), np.int64)
    cycle[np.cumsum((0, *stretch.runs[:-1]))] = 1
    places = (stretch.phase + np.arange(outputs)) % len(cycle)
    new[1:] = cycle[places[1:]]
    for odd in stretch.odd:
        new[odd.picture - stretch.first] = int(odd.is_new)
    new[:1] = 0
    return stretch.film + np.cumsum(new)


def film_frames(stretches: Sequence[Stretch]) -> Iterator[FilmFrame]:
    """Yield every film frame in order, with where its fields are to be had.

    Stretches follow one another without gaps.
    """
    upper, lower = films_shown(stretches)
    pure, mixed = _unmixed(stretches, len(upper)), _first_mixed(stretches)
    uppers, lowers = _firsts(upper, pure), _firsts(lower, pure)
    wholes = _firsts(np.where(upper == lower, upper, -1), pure)
    begin = stretches[0].first if stretches else 0
    for number in sorted({*uppers, *lowers, *mixed}):
        whole = wholes.get(number)
        fields = (uppers.get(number), lowers.get(number)) if whole is None else (whole, whole)
        shows = (uppers.get(number), lowers.get(number), mixed.get(number))
        yield FilmFrame(
            number=number,
            first=begin + min(one for one in shows if one is not None),
            upper=None if fields[0] is None else begin + fields[0],
            lower=None if fields[1] is None else begin + fields[1],
        )


def _firsts(films: Numbers, pure: NDArray[np.bool_]) -> dict[int, int]:
    """Return the first picture that shows each film frame, unmixed, counted from the begin."""
    pictures = np.flatnonzero(pure & (films >= 0))
    numbers, at = np.unique(films[pictures], return_index=True)
    return dict(zip(numbers.tolist(), pictures[at].tolist(), strict=True))


def _unmixed(stretches: Sequence[Stretch], count: int) -> NDArray[np.bool_]:
    """Tell which pictures show a film frame as it is."""
    pure = np.ones(count, np.bool_)
    for stretch, mixture in _mixed(stretches):
        begin = stretch.first - stretches[0].first
        for k in range(stretch.count):
            pure[begin + k] = len(mixture.parts(k)) == 1
    return pure


def _first_mixed(stretches: Sequence[Stretch]) -> dict[int, int]:
    """Return the first picture of those that a film frame is mixed into, from the begin."""
    found: dict[int, int] = {}
    for stretch, mixture in _mixed(stretches):
        for k in range(stretch.count):
            for film, _ in mixture.parts(k):
                found.setdefault(stretch.film + film, stretch.first - stretches[0].first + k)
    return found


def _mixed(stretches: Sequence[Stretch]) -> Iterator[tuple[Stretch, Mixture]]:
    for stretch in stretches:
        if stretch.mixing is not None:
            yield stretch, stretch.mixing.mixture


def speed_of(stretch: Stretch) -> Fraction:
    """Return how many film frames a stretch shows in a picture, on the mean."""
    if stretch.mixing is not None:
        return Fraction(stretch.mixing.film_frames, stretch.mixing.outputs)
    fields = 2 if stretch.kind is Kind.FIELDS else 1
    return Fraction(fields * len(stretch.runs), sum(stretch.runs))
