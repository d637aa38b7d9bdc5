"""Sums and extremes of (a x + b) mod m over a run of x, without visiting every x.

A cadence at constant speed is such a sequence, so drift over a shot costs the logarithm of
its length. The sums are the Euclid-like floor sums of number theory (common practice; derived
in the comments, held against plain loops in the tests).
"""

from __future__ import annotations

from operator import mul
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Listed", "Numbers", "Residues", "Sums", "floor_sums", "smallest_residue"]


class Sums(NamedTuple):
    """How many whole numbers there are, their sum and the sum of their squares."""

    size: int
    total: int
    squares: int


class Listed(Struct, frozen=True, kw_only=True):
    """Whole numbers one by one."""

    numbers: Sequence[int]

    def sums(self) -> Sums:
        """Return what they amount to."""
        numbers = self.numbers
        return Sums(len(numbers), sum(numbers), sum(map(mul, numbers, numbers)))

    def bounds(self) -> tuple[int, int]:
        """Return two numbers that they all lie between; there is one at least."""
        return self.extremes()

    def extremes(self) -> tuple[int, int]:
        """Return the least and the largest; there is one at least."""
        return min(self.numbers), max(self.numbers)


class Residues(Struct, frozen=True, kw_only=True):
    """The numbers (a x + b) mod m - ``less`` for x in 0..n, and ``also`` where it is a number.

    ``n`` is -1 (none) or more, ``m`` is 1 or more. They are told of without being visited;
    their extremes cost as much as their sums, their bounds nothing.
    """

    n: int
    a: int
    b: int
    m: int
    less: int
    also: int | None = None

    def sums(self) -> Sums:
        """Return what they amount to."""
        n, m, less, also = self.n, self.m, self.less, self.also
        a, b = self.a % m, self.b % m
        f, g, h = floor_sums(n, a, b, m)
        size, firsts, seconds = n + 1, n * (n + 1) // 2, n * (n + 1) * (2 * n + 1) // 6
        total = a * firsts + b * size - m * f
        squares = a * a * seconds + 2 * a * b * firsts + b * b * size
        squares += m * m * h - 2 * m * (a * g + b * f)
        squares -= less * (2 * total - size * less)
        total -= size * less
        if also is None:
            return Sums(size, total, squares)
        return Sums(size + 1, total + also, squares + also * also)

    def bounds(self) -> tuple[int, int]:
        """Return two numbers that they all lie between; there is one at least."""
        if self.also is None:
            return -self.less, self.m - 1 - self.less
        return min(-self.less, self.also), max(self.m - 1 - self.less, self.also)

    def extremes(self) -> tuple[int, int]:
        """Return the least and the largest; there is one at least."""
        n, a, b, m = self.n, self.a, self.b, self.m
        found = [] if self.also is None else [self.also]
        if n >= 0:
            found.append(smallest_residue(n, a, b, m) - self.less)
            found.append(m - 1 - smallest_residue(n, -a, -b - 1, m) - self.less)
        return min(found), max(found)


Numbers: TypeAlias = Listed | Residues


def floor_sums(n: int, a: int, b: int, m: int) -> tuple[int, int, int]:
    """Return the sums over x in 0..n of F, x F and F squared, where F = floor((a x + b)/m).

    ``n`` is -1 (empty) or more, ``a`` and ``b`` are 0 or more, ``m`` is 1 or more.
    """
    # Going down: subtract whole multiples of m, then swap axes (count lattice points by rows
    # instead of columns). The frames are kept in a list, since n may be long and deep.
    frames: list[tuple[int, int, int, int, int]] = []
    while n >= 0:
        whole_a, a = divmod(a, m)
        whole_b, b = divmod(b, m)
        top = (a * n + b) // m
        frames.append((n, whole_a, whole_b, top, m))
        if top == 0:
            break
        n, a, b, m = top - 1, m, m - b - 1, a
    f = g = h = 0  # of the innermost frame, whose F is 0 once its whole parts are taken off
    for depth, (n, whole_a, whole_b, top, _) in enumerate(reversed(frames)):
        if depth or top:
            # f, g, h belong to the swapped problem of top rows.
            f, g, h = (
                n * top - f,
                (top * n * (n + 1) - h - f) // 2,
                n * top * (top + 1) - 2 * g - 2 * f - (n * top - f),
            )
        ones, firsts, seconds = n + 1, n * (n + 1) // 2, n * (n + 1) * (2 * n + 1) // 6
        h += (
            2 * whole_b * f
            + 2 * whole_a * g
            + whole_a * whole_a * seconds
            + 2 * whole_a * whole_b * firsts
            + whole_b * whole_b * ones
        )
        g += whole_a * seconds + whole_b * firsts
        f += whole_a * firsts + whole_b * ones
    return f, g, h


def smallest_residue(n: int, a: int, b: int, m: int) -> int:
    """Return the least (a x + b) mod m for x in 0..n; ``n`` is 0 or more, ``m`` 1 or more."""
    least = m
    while True:
        a, b = a % m, b % m
        if 2 * a > m:  # read the run backwards, so that the step at least halves the modulus
            a, b = m - a, (a * n + b) % m
        least = min(least, b)
        # Only the first number and those just after a wrap can be least, and the latter are
        # below a: the same question with a as the modulus.
        wraps = (a * n + b) // m
        if wraps == 0:
            return least
        n, a, b, m = wraps - 1, -m, b - m, a
