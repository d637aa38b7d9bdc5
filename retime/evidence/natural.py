"""Movements whose frequency is known from elsewhere, and laws that give one.

Speeds told by a movement are never surer than the movement: people who walk do so at 109 steps a
minute, give or take 9.
"""

from __future__ import annotations

from difflib import get_close_matches
from fractions import Fraction
from math import pi, sqrt
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.evidence.quantity import Quantity, between, spread, within
from retime.film.notation import shown

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["GRAVITY", "NATURAL", "Natural", "fall", "natural_named", "pendulum"]

GRAVITY = 9.80665
"""Standard gravity in metres a second squared (3rd General Conference on Weights and Measures)."""

_MINUTE = 60


class Natural(Struct, frozen=True, kw_only=True):
    """A movement: ``frequency`` is how many of what is ``counted`` there are to a second.

    Its bounds are a standard deviation to either side where the ``source`` tells one.
    """

    name: str
    counted: str
    frequency: Quantity
    source: str


def _deviating(value: str, deviation: str, per: int = 1) -> Quantity:
    return spread(Fraction(value) / per, Fraction(deviation) / per)


def _between(low: str, high: str, per: int = 1) -> Quantity:
    return between(Fraction(low) / per, Fraction(high) / per)


_BAKER = 'as reported by R. Baker, "What is normal walking?"'
_BRIDGES = "the deviation of 0.173 is that of footbridge design (Matsumoto), from memory"
_PACHI = 'A. Pachi and T. Ji, "Frequency and velocity of people walking", 2005'
_VERGARA = "F. B. Vergara-Hernandez et al., Translational Animal Science 6(1), 2021"
_OURS = "no scatter is told there, and the bounds are ours"

NATURAL: tuple[Natural, ...] = (
    Natural(
        name="walk",
        counted="step",
        frequency=_deviating("109", "9", _MINUTE),
        source="people who walk about their day, 109 +/- 9 steps a minute: Dall et al. 2013, "
        f"{_BAKER}",
    ),
    Natural(
        name="walk in a laboratory",
        counted="step",
        frequency=_between("100", "120", _MINUTE),
        source=f"at their own choice, 100 to 120 steps a minute: Winter 1991, {_BAKER}",
    ),
    Natural(
        name="walk indoors",
        counted="step",
        frequency=_deviating("2.0", "0.173"),
        source=f"shopping floors, 2.0 steps a second: {_PACHI}; {_BRIDGES}",
    ),
    Natural(
        name="walk over a bridge",
        counted="step",
        frequency=_deviating("1.8", "0.173"),
        source=f"footbridges, 1.8 steps a second: {_PACHI}; {_BRIDGES}",
    ),
    Natural(
        name="run",
        counted="step",
        frequency=_deviating("165", "8", _MINUTE),
        source='experienced recreational runners, 165 +/- 8 steps a minute: "Individual optimal '
        'step frequency during outdoor running", European Journal of Sport Science 20(2), 2020',
    ),
    Natural(
        name="march",
        counted="step",
        frequency=_between("112", "128", _MINUTE),
        source="quick time of 120 steps a minute: common practice; within 8, for armies, bands "
        "and years differ by about that, from memory",
    ),
    Natural(
        name="horse walk",
        counted="stride",
        frequency=_between("0.8", "1.0"),
        source="riding horses, 0.8 to 1.0 strides a second, from memory",
    ),
    Natural(
        name="horse trot",
        counted="stride",
        frequency=_between("1.3", "1.5"),
        source="riding horses, 1.3 to 1.5 strides a second, from memory",
    ),
    Natural(
        name="horse canter",
        counted="stride",
        frequency=_between("1.6", "1.8"),
        source="riding horses, 1.6 to 1.8 strides a second, from memory",
    ),
    Natural(
        name="horse gallop",
        counted="stride",
        frequency=_between("2.0", "2.5"),
        source="riding horses, 2.0 to 2.5 strides a second, from memory",
    ),
    Natural(
        name="racing trot",
        counted="stride",
        frequency=within(Fraction("2.198"), Fraction("0.1")),
        source='Standardbreds at 12 m/s, 5.45 m and 455 ms a stride: "Equine locomotion 1", '
        f"Equine Veterinary Journal 12(2), 1980; {_OURS}",
    ),
    Natural(
        name="race gallop",
        counted="stride",
        frequency=within(Fraction("2.34"), Fraction("0.1")),
        source=f"Thoroughbreds, 2.34 strides a second: {_VERGARA}; {_OURS}",
    ),
    Natural(
        name="race sprint",
        counted="stride",
        frequency=within(Fraction("2.88"), Fraction("0.1")),
        source=f"Quarter Horses, 2.88 strides a second: {_VERGARA}; {_OURS}",
    ),
)


def natural_named(text: str) -> Natural:
    """Return a movement by its name, letter case and blanks aside.

    Raises NotationError where there is none, with the nearest name or with all of them.
    """
    name = " ".join(text.lower().split())
    for one in NATURAL:
        if one.name == name:
            return one
    names = [one.name for one in NATURAL]
    near = get_close_matches(name, names, 1)
    hint = f"did you mean {near[0]!r}?" if near else f"known are {', '.join(names)}"
    raise NotationError(f"no movement is named {shown(text)}", hint)


def pendulum(length: Quantity) -> Quantity:
    """Return how often a second a pendulum of a length in metres, above 0, swings to and fro.

    A small swing takes 2 pi sqrt(length / g); one of 20 degrees to either side takes 0.8 % longer
    (textbook).
    """
    return _rooted(length, lambda metres: sqrt(GRAVITY / metres) / (2 * pi))


def fall(height: Quantity) -> Quantity:
    """Return 1 over the seconds that a fall from a height in metres, above 0, takes.

    A fall from rest takes sqrt(2 height / g), the air left aside.
    """
    return _rooted(height, lambda metres: sqrt(GRAVITY / (2 * metres)))


def _rooted(length: Quantity, law: Callable[[float], float]) -> Quantity:
    """Return a frequency that goes with one over the root of a length."""
    value = Fraction(law(float(length.value)))
    half = value / (2 * length.value)
    return Quantity(
        value=value,
        low=min(value, Fraction(law(float(length.high)))),
        high=max(value, Fraction(law(float(length.low)))),
        variance=length.variance * half**2,
    )
