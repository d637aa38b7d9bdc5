"""A figure that is known within something: its value, its bounds, and its standard uncertainty.

Bounds follow interval arithmetic: what cannot lie outside. Standard uncertainties follow the law of
propagation for figures that do not depend on one another, to the first order (JCGM 100:2008, Guide
to the expression of uncertainty in measurement, 5.1.2; from memory): variances add in sums,
relative variances in products. A stated bound of which nothing more is known is a rectangular
distribution, whose variance is the square of its half width over 3 (the same, 4.3.7).
"""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

from msgspec import Struct

__all__ = ["Quantity", "around", "between", "exactly", "spread", "within"]

_ROOT_OF_THREE = Fraction(sqrt(3))


class Quantity(Struct, frozen=True, kw_only=True):
    """A figure: ``low`` <= ``value`` <= ``high``, and the square of its standard uncertainty."""

    value: Fraction
    low: Fraction
    high: Fraction
    variance: Fraction

    def __post_init__(self) -> None:
        """Refuse bounds that the value lies outside of."""
        if not self.low <= self.value <= self.high:
            raise ValueError(f"{self.value} is not within {self.low} to {self.high}")

    @property
    def uncertainty(self) -> float:
        """The standard uncertainty, in the figure's own unit."""
        return sqrt(self.variance)

    @property
    def relative(self) -> float:
        """The standard uncertainty over the value; the value is not 0."""
        return self.uncertainty / abs(float(self.value))

    def __add__(self, other: Quantity) -> Quantity:
        """Return the sum of two figures that do not depend on one another."""
        return Quantity(
            value=self.value + other.value,
            low=self.low + other.low,
            high=self.high + other.high,
            variance=self.variance + other.variance,
        )

    def __neg__(self) -> Quantity:
        """Return the figure with its sign turned."""
        return Quantity(value=-self.value, low=-self.high, high=-self.low, variance=self.variance)

    def __sub__(self, other: Quantity) -> Quantity:
        """Return the difference of two figures that do not depend on one another."""
        return self + -other

    def __mul__(self, other: Quantity) -> Quantity:
        """Return the product of two figures, neither of which can be below 0."""
        _positive(self, other)
        return Quantity(
            value=self.value * other.value,
            low=self.low * other.low,
            high=self.high * other.high,
            variance=self.variance * other.value**2 + other.variance * self.value**2,
        )

    def inverse(self) -> Quantity:
        """Return 1 over a figure that is above 0."""
        _positive(self)
        if self.low == 0:
            raise ValueError("a figure that may be 0 has no inverse")
        return Quantity(
            value=1 / self.value,
            low=1 / self.high,
            high=1 / self.low,
            variance=self.variance / self.value**4,
        )

    def __truediv__(self, other: Quantity) -> Quantity:
        """Return the quotient of two figures, the second above 0."""
        return self * other.inverse()

    def times(self, factor: Fraction) -> Quantity:
        """Return the figure in another unit; ``factor`` is above 0 and exact."""
        return self * exactly(factor)


def _positive(*figures: Quantity) -> None:
    if any(figure.low < 0 for figure in figures):
        raise ValueError("a figure that may be below 0 has no product here")


def exactly(value: Fraction) -> Quantity:
    """Return a figure that is known exactly."""
    return Quantity(value=value, low=value, high=value, variance=Fraction(0))


def within(value: Fraction, tolerance: Fraction) -> Quantity:
    """Return a figure that lies within ``tolerance`` (0 or above) of ``value``."""
    return Quantity(
        value=value,
        low=value - tolerance,
        high=value + tolerance,
        variance=tolerance**2 / 3,
    )


def between(low: Fraction, high: Fraction) -> Quantity:
    """Return a figure of which only bounds are known."""
    return within((low + high) / 2, (high - low) / 2)


def spread(value: Fraction, deviation: Fraction) -> Quantity:
    """Return a figure told with a standard deviation, its bounds one deviation to either side."""
    return Quantity(
        value=value, low=value - deviation, high=value + deviation, variance=deviation**2
    )


def around(value: Fraction, uncertainty: Fraction) -> Quantity:
    """Return a figure told with a standard uncertainty, its bounds those of a rectangle with it."""
    half = uncertainty * _ROOT_OF_THREE
    return Quantity(value=value, low=value - half, high=value + half, variance=uncertainty**2)
