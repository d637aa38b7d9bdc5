"""The statistics of pairs once more, slowly and from their definitions, for the tests."""

from __future__ import annotations

from itertools import combinations, product
from math import comb, exp, inf, log, log1p
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

__all__ = [
    "PRIOR",
    "Vote",
    "both_tails",
    "circular",
    "errors",
    "split_mix",
    "strengths",
    "tossed",
    "votes_of",
]

PRIOR = 1.6449340668482264
"""Pi squared over 6, the variance of the Gumbel distribution."""

_WORD = 2**64


class Vote(NamedTuple):
    """A pair that was seen, and what was said of it: left, right or neither."""

    left: str
    right: str
    said: str


def split_mix(seed: int) -> Iterator[int]:
    """Yield SplitMix64's numbers (Steele, Lea and Flood 2014), 64 bits each."""
    state = seed
    while True:
        state = (state + 0x9E3779B97F4A7C15) % _WORD
        z = state
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9 % _WORD
        z = (z ^ (z >> 27)) * 0x94D049BB133111EB % _WORD
        yield z ^ (z >> 31)


def votes_of(wins: Mapping[tuple[str, str], int]) -> list[Vote]:
    """Return votes in which each first was preferred to each second so often."""
    return [Vote(a, b, "left") for (a, b), count in wins.items() for _ in range(count)]


def _gain(at: Sequence[float], speeds: Sequence[str], votes: Sequence[Vote], prior: float) -> float:
    """Return the logarithm of the posterior of strengths."""
    own = dict(zip(speeds, at, strict=True))
    total = -sum(one**2 for one in at) / (2 * prior)
    for vote in votes:
        apart = own[vote.left] - own[vote.right]
        for_left = {"left": 1.0, "right": 0.0, "neither": 0.5}[vote.said]
        total -= for_left * log1p(exp(-apart)) + (1 - for_left) * log1p(exp(apart))
    return total


def strengths(speeds: Sequence[str], votes: Sequence[Vote], prior: float = inf) -> list[float]:
    """Return the strengths of the highest posterior, their mean 0, one after another by halving.

    Where one strength's slope is 0, the votes that it should have had and what the prior takes are
    those that it had: no derivative of the whole is needed, and no matrix.
    """
    at = dict.fromkeys(speeds, 0.0)
    met = {
        one: [(v.right if v.left == one else v.left) for v in votes if one in v[:2]]
        for one in speeds
    }
    had = {
        one: sum(
            0.5 if v.said == "neither" else getattr(v, v.said) == one for v in votes if one in v[:2]
        )
        for one in speeds
    }
    for _ in range(400):
        for one in speeds:
            low, high = -30.0, 30.0
            for _ in range(55):
                middle = (low + high) / 2
                due = sum(1 / (1 + exp(at[other] - middle)) for other in met[one]) + middle / prior
                low, high = (middle, high) if due < had[one] else (low, middle)
            at[one] = (low + high) / 2
    centre = sum(at.values()) / len(at)
    return [value - centre for value in at.values()]


def errors(
    speeds: Sequence[str], votes: Sequence[Vote], at: Sequence[float], prior: float = inf
) -> NDArray[np.float64]:
    """Return the covariance of strengths of mean 0, by second differences of the posterior.

    They are taken along directions that leave the mean as it is, of length 1 and square to one
    another.
    """
    count, step = len(speeds), 1e-3
    seed = np.column_stack([np.ones(count), np.eye(count)[:, :-1]])
    along = np.linalg.qr(seed)[0][:, 1:]

    def gain(*moves: float) -> float:
        return _gain(list(np.asarray(at) + along @ np.asarray(moves)), speeds, votes, prior)

    size = count - 1
    bend = np.zeros((size, size))
    for i, j in product(range(size), repeat=2):
        for a, b in product((1, -1), repeat=2):
            moves = np.zeros(size)
            moves[i] += a * step
            moves[j] += b * step
            bend[i, j] -= a * b * gain(*moves) / (4 * step**2)
    return np.asarray(along @ np.linalg.inv(bend) @ along.T)


def circular(beats: Mapping[tuple[int, int], bool], count: int) -> int:
    """Return how many triads go round in a circle; ``beats[i, j]`` for i < j: i beat j."""
    won = {(i, j) if first else (j, i) for (i, j), first in beats.items()}
    return sum(
        {(a, b), (b, c), (c, a)} <= won or {(b, a), (c, b), (a, c)} <= won
        for a, b, c in combinations(range(count), 3)
    )


def tossed(count: int) -> list[int]:
    """Return in how many outcomes of all pairs there are 0, 1, 2... circular triads."""
    every = list(combinations(range(count), 2))
    found = [0] * (comb(count, 3) + 1)
    for outcome in product((True, False), repeat=len(every)):
        found[circular(dict(zip(every, outcome, strict=True)), count)] += 1
    while not found[-1]:
        found.pop()
    return found


def both_tails(left: int, right: int) -> float:
    """Return how probable it is that a fair coin falls as unevenly, to either side."""
    total = left + right
    even = abs(left - right)
    ways = sum(comb(total, k) for k in range(total + 1) if abs(total - 2 * k) >= even)
    return exp(log(ways) - total * log(2))
