"""Shots in films drawn by chance, whose cuts, dissolves, fades and titles are known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest
from drawnfilms import drawn

from retime.shots.finding import find_shots
from retime.shots.found import JoinKind
from retime.shots.measures import Eye

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import Protocol

    from drawnfilms import Film

    from retime.shots.found import ScanShots

    class Span(Protocol):
        """Anything with a first and a last frame."""

        @property
        def first(self) -> int:
            """The first frame."""

        @property
        def last(self) -> int:
            """The last frame."""


SEEDS = range(40_000, 40_040)
"""Films that nothing was tried on while the finder was made."""


@dataclass
class Tally:
    """How many there are, how many were found, and how many of those found are right."""

    known: int = 0
    found: int = 0
    right: int = 0

    def add(self, known: Sequence[Span], found: Sequence[Span], least: float) -> None:
        """Count what is found and known, pairs of them sharing ``least`` of all their frames."""
        left = list(found)
        for one in known:
            match = next((other for other in left if shared(one, other) >= least), None)
            if match is not None:
                left.remove(match)
                self.right += 1
        self.known += len(known)
        self.found += len(found)

    @property
    def recall(self) -> float:
        """The part of what is known that was found."""
        return self.right / self.known

    @property
    def precision(self) -> float:
        """The part of what was found that is right."""
        return self.right / self.found


def shared(one: Span, other: Span) -> float:
    """Return the frames that two spans share over those that either has."""
    both = min(one.last, other.last) - max(one.first, other.first) + 1
    return both / (max(one.last, other.last) - min(one.first, other.first) + 1)


def seen(film: Film) -> ScanShots:
    eye = Eye()
    for picture in film.pictures:
        eye.see(picture)
    return find_shots(eye.measures())


def tallied(films: Iterable[Film]) -> dict[str, Tally]:
    tallies = {name: Tally() for name in ("cuts", "gradual", "titles")}
    gradual = (JoinKind.DISSOLVE, JoinKind.FADE_IN, JoinKind.FADE_OUT)
    for film in films:
        found = seen(film)
        joins = [join for join in film.joins if join.kind == "cut"]
        tallies["cuts"].add(joins, [one for one in found.joins if one.kind is JoinKind.CUT], 1)
        joins = [join for join in film.joins if join.kind != "cut"]
        tallies["gradual"].add(joins, [one for one in found.joins if one.kind in gradual], 0.5)
        titles = [shot for shot in film.shots if shot.title]
        tallies["titles"].add(titles, [one for one in found.shots if one.title], 0.6)
    return tallies


@pytest.fixture(scope="module")
def tallies() -> dict[str, Tally]:
    return tallied(drawn(seed) for seed in SEEDS)


@pytest.mark.parametrize(
    ("what", "enough", "least"),
    [("cuts", 150, 0.97), ("gradual", 80, 0.9), ("titles", 60, 0.97)],
)
def test_what_was_drawn_is_found_and_little_else(
    what: str, enough: int, least: float, tallies: dict[str, Tally]
) -> None:
    tally = tallies[what]

    assert tally.known >= enough
    assert tally.recall >= least, tally
    assert tally.precision >= least, tally


def test_the_shots_of_a_film_follow_one_another_without_a_gap() -> None:
    for seed in SEEDS[:6]:
        found = seen(drawn(seed))

        assert found.shots[0].first == found.first
        assert found.shots[-1].last == found.last
        pairs = zip(found.shots, found.shots[1:], strict=False)
        assert all(one.last + 1 == other.first for one, other in pairs)


def test_a_film_of_one_picture_is_one_shot() -> None:
    eye = Eye()
    eye.see(drawn(20_000).pictures[0])

    found = find_shots(eye.measures())

    assert [(0, 0)] == [(shot.first, shot.last) for shot in found.shots]


@pytest.mark.parametrize("tone", [0, 90, 255])
def test_a_scan_of_nothing_is_taken_whole(tone: int) -> None:
    eye = Eye()
    for _ in range(40):
        eye.see(np.full((120, 160), tone, np.uint8))

    found = find_shots(eye.measures())

    assert (0, 39) == (found.first, found.last)
    assert not found.joins
