"""The table of natural movements, and the laws of the pendulum and of the fall."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from retime.errors import NotationError
from retime.evidence.natural import NATURAL, Natural, fall, natural_named, pendulum
from retime.evidence.quantity import exactly, within

if TYPE_CHECKING:
    from collections.abc import Callable

    from retime.evidence.quantity import Quantity


@pytest.mark.parametrize("row", NATURAL, ids=lambda row: row.name)
def test_every_row_is_found_by_its_name_and_names_its_source(row: Natural) -> None:
    assert row == natural_named(row.name)
    assert row == natural_named(f" {row.name.upper()} ")
    assert row.counted in {"step", "stride"}
    assert any(word in row.source for word in ("19", "20", "from memory"))
    assert 0 < row.frequency.low < row.frequency.value < row.frequency.high
    assert row.frequency.relative < 0.15


def test_names_are_not_told_twice() -> None:
    assert len({row.name for row in NATURAL}) == len(NATURAL)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        # Dall et al. 2013, as reported by Richard Baker, "What is normal walking?".
        ("walk", Fraction(100, 60), Fraction(118, 60)),
        # Winter 1991, in the same.
        ("walk in a laboratory", Fraction(100, 60), Fraction(2)),
        # "Individual optimal step frequency during outdoor running", European Journal of Sport
        # Science 20(2), 2020.
        ("run", Fraction(157, 60), Fraction(173, 60)),
        # Riding horses: from memory.
        ("horse walk", Fraction("0.8"), Fraction(1)),
        ("horse trot", Fraction("1.3"), Fraction("1.5")),
        ("horse canter", Fraction("1.6"), Fraction("1.8")),
        ("horse gallop", Fraction(2), Fraction("2.5")),
    ],
)
def test_bounds_are_the_published_ones(name: str, low: Fraction, high: Fraction) -> None:
    frequency = natural_named(name).frequency

    assert (low, high) == (frequency.low, frequency.high)


@pytest.mark.parametrize(
    ("name", "a_second"),
    [
        # A. Pachi and T. Ji, "Frequency and velocity of people walking", 2005.
        ("walk indoors", 2.0),
        ("walk over a bridge", 1.8),
        ("march", 2.0),  # quick time: common practice
        ("racing trot", 1 / 0.455),  # "Equine locomotion 1", Equine Veterinary Journal 12(2), 1980
        # F. B. Vergara-Hernandez et al., Translational Animal Science 6(1), 2021.
        ("race gallop", 2.34),
        ("race sprint", 2.88),
    ],
)
def test_frequencies_are_the_published_ones(name: str, a_second: float) -> None:
    assert float(natural_named(name).frequency.value) == pytest.approx(a_second, rel=2e-4)


def test_a_racing_trot_makes_12_metres_a_second_of_its_strides() -> None:
    """5.45 m a stride at 12 m/s, in the same study."""
    assert float(natural_named("racing trot").frequency.value) * 5.45 == pytest.approx(12, rel=2e-3)


@pytest.mark.parametrize(
    ("metres", "seconds"),
    [("0.25", 1.0032), ("0.5", 1.4187), ("0.9936", 2.0000), ("1", 2.0064), ("2", 2.8375)],
)
def test_a_pendulum_swings_in_2_pi_roots_of_its_length_over_g(metres: str, seconds: float) -> None:
    """Textbook, with standard gravity, 9.80665 m/s2."""
    assert 1 / float(pendulum(exactly(Fraction(metres))).value) == pytest.approx(seconds, abs=6e-5)


@pytest.mark.parametrize(
    ("metres", "seconds"),
    [
        ("0.5", 0.3193),
        ("1", 0.4516),
        ("1.5", 0.5531),
        ("2", 0.6387),
        ("3", 0.7822),
        ("5", 1.0098),
        ("10", 1.4281),
    ],
)
def test_a_fall_takes_the_root_of_twice_its_height_over_g(metres: str, seconds: float) -> None:
    """Textbook, with standard gravity, 9.80665 m/s2."""
    assert 1 / float(fall(exactly(Fraction(metres))).value) == pytest.approx(seconds, abs=6e-5)


@pytest.mark.parametrize("law", [pendulum, fall])
def test_a_frequency_is_half_as_uncertain_as_the_length(
    law: Callable[[Quantity], Quantity],
) -> None:
    """To the first order: the frequency goes with one over the root of the length."""
    length = within(Fraction(3), Fraction("0.06"))
    frequency = law(length)

    assert frequency.relative == pytest.approx(length.relative / 2)
    assert frequency.low == law(exactly(length.high)).value
    assert frequency.high == law(exactly(length.low)).value


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("wallk", "did you mean 'walk'"),
        ("hores trot", "'horse trot'"),
        ("swim", "known are walk, "),
    ],
)
def test_an_unknown_movement_is_refused_with_what_is_known(text: str, words: str) -> None:
    with pytest.raises(NotationError, match="no movement is named") as caught:
        natural_named(text)
    assert words in caught.value.hint
