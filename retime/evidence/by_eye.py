"""What people see: motion that looks right, titles that can be read, light without flicker."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt
from typing import TYPE_CHECKING

from retime.evidence.families import FREQUENCY, LENGTH, READING, SPEED
from retime.evidence.figures import Figure
from retime.evidence.model import Implied, Measure, Sense, Yardstick
from retime.evidence.quantity import around, exactly
from retime.film.notation import SpeedUnit, SpokenSpeed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.document import FlickerSection, LegibilitySection, ViewingSection
    from retime.evidence.item_reader import ItemReader
    from retime.evidence.quantity import Quantity

__all__ = ["NO_FLICKER", "flicker", "legibility", "viewing"]

NO_FLICKER = FREQUENCY.figure("48 /s")
"""Below 48 interruptions a second flicker is obvious: National Film and Sound Archive of
Australia, preservation glossary, Projector."""


def viewing(section: ViewingSection, reader: ItemReader) -> tuple[Implied, ...]:
    """Return the mean of the votes.

    Its variance is that of what people cannot tell apart, a rectangle's, and the sample's over the
    number of votes.
    """
    if not section.votes:
        reader.tell("viewing", "there are no votes", "write votes: {18 fps: 3, 20 fps: 5}", "votes")
        return ()
    votes: list[tuple[Fraction, int]] = []
    for speed, count in section.votes.items():
        one = reader.other(Figure(text=speed.text, first=speed), SPEED, "votes", speed.text)
        votes += [] if one is None else [(one.value, count)]
    if len(votes) < len(section.votes):
        return ()
    said = ", ".join(f"{speed.text}: {count}" for speed, count in section.votes.items())
    mean, scatter = _mean(votes)
    spoken = SpokenSpeed(amount=mean, unit=SpeedUnit.FPS, text=said)
    told = reader.main(Figure(text=said, first=spoken), SPEED, "votes")
    if told is None:
        return ()
    fps = around(mean, Fraction(sqrt(told.quantity.variance + scatter)))
    if fps.low <= 0:
        reader.tell("viewing", "the votes are so far apart that they say nothing", "", "votes")
        return ()
    yardstick = Yardstick(measure=Measure.FPS, factor=Fraction(1))
    return (Implied(speed=fps, said=told.said, yardstick=yardstick),)


def _mean(votes: Sequence[tuple[Fraction, int]]) -> tuple[Fraction, Fraction]:
    """Return the mean of votes, and the sample's variance over their number: 0 for one vote."""
    number = sum(count for _, count in votes)
    mean = sum((fps * count for fps, count in votes), start=Fraction(0)) / number
    if number == 1:
        return mean, Fraction(0)
    squares = sum((count * (fps - mean) ** 2 for fps, count in votes), start=Fraction(0))
    return mean, squares / (number - 1) / number


def legibility(section: LegibilitySection, reader: ItemReader) -> tuple[Implied, ...]:
    """Return the fastest speed at which a title stands long enough to be read."""
    rule = section.rule
    per_word = reader.main(rule.per_word, READING, "rule")
    frames = _title(section, reader)
    if per_word is None or frames is None:
        return ()
    seconds = per_word.quantity.times(Fraction(max(section.words, rule.fewest)))
    named = rule.per_word.text != rule.text
    told = f", {rule.text} ({per_word.said})" if named else f" at {per_word.said}"
    return (
        Implied(
            speed=frames / seconds,
            sense=Sense.AT_MOST,
            said=f"{section.words} words{told}",
            yardstick=Yardstick(measure=Measure.TIME, factor=frames.value, inverse=True),
        ),
    )


def _title(section: LegibilitySection, reader: ItemReader) -> Quantity | None:
    """Return how many frames a title has."""
    if reader.only(section, ("length", "shot")) is None:
        return None
    if section.length is not None:
        return reader.other(section.length, LENGTH, "length")
    return reader.shots(str(section.shot), "shot")


def flicker(section: FlickerSection, reader: ItemReader) -> tuple[Implied, ...]:
    """Return the slowest speed at which a shutter's flashes come often enough."""
    limit = reader.main(section.limit or NO_FLICKER, FREQUENCY, "limit")
    if limit is None:
        return ()
    blades = Fraction(section.blades)
    return (
        Implied(
            speed=limit.quantity / exactly(blades),
            sense=Sense.AT_LEAST,
            said=f"{limit.said}, {blades} blades",
            yardstick=Yardstick(measure=Measure.FLASHES, factor=blades),
        ),
    )
