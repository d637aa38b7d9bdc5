"""Sums and extremes of (a x + b) mod m over a run of x, without visiting every x.

A cadence at constant speed is such a sequence, so drift over a shot costs the logarithm of
its length. The sums are the Euclid-like floor sums of number theory (common practice; derived
in the comments, held against plain loops in the tests).
"""

from __future__ import annotations

from operator import mul
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Residues", "floor_sums", "residues", "smallest_residue"]


class Residues(NamedTuple):
    """What ``size`` whole numbers amount to; all zero where there are none."""

    size: int
    smallest: int
    largest: int
    total: int
    squares: int

    def shifted(self, by: int) -> Residues:
        """Return the same for every number plus ``by``."""
        size, smallest, largest, total, squares = self
        squares += by * (2 * total + size * by)
        return Residues(size, smallest + by, largest + by, total + size * by, squares)

    def with_number(self, number: int) -> Residues:
        """Return the same with one more number."""
        size, smallest, largest, total, squares = self
        if size == 0:
            return Residues(1, number, number, number, number * number)
        return Residues(
            size + 1,
            min(smallest, number),
            max(largest, number),
            total + number,
            squares + number * number,
        )

    @staticmethod
    def of(numbers: Sequence[int]) -> Residues:
        """Return what plain numbers amount to."""
        return Residues(
            len(numbers),
            min(numbers, default=0),
            max(numbers, default=0),
            sum(numbers),
            sum(map(mul, numbers, numbers)),
        )


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


def residues(first: int, last: int, a: int, b: int, m: int) -> Residues:
    """Return what (a x + b) mod m amounts to for x in ``first``..``last``, both included."""
    n = last - first
    if n < 0:
        return Residues.of(())
    a, b = a % m, (a * first + b) % m
    f, g, h = floor_sums(n, a, b, m)
    firsts, seconds = n * (n + 1) // 2, n * (n + 1) * (2 * n + 1) // 6
    plain = a * firsts + b * (n + 1)
    plain_squares = a * a * seconds + 2 * a * b * firsts + b * b * (n + 1)
    return Residues(
        n + 1,
        smallest_residue(n, a, b, m),
        m - 1 - smallest_residue(n, -a, -b - 1, m),
        plain - m * f,
        plain_squares - 2 * m * (a * g + b * f) + m * m * h,
    )
