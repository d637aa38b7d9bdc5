"""What people see: titles that can be read, light without flicker."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from retime.evidence.families import FREQUENCY, LENGTH, READING
from retime.evidence.model import Implied, Measure, Sense, Yardstick
from retime.evidence.quantity import exactly

if TYPE_CHECKING:
    from retime.evidence.document import FlickerSection, LegibilitySection
    from retime.evidence.item_reader import ItemReader, Told
    from retime.evidence.quantity import Quantity

__all__ = ["NEARLY", "NO_FLICKER", "flicker", "legibility"]

NO_FLICKER = FREQUENCY.figure("48 /s")
"""Below 48 interruptions a second flicker is obvious: National Film and Sound Archive of
Australia, preservation glossary, Projector."""

NEARLY = "2 /s"
"""Within what that limit holds: 46 pictures a second is the other figure that is handed down, as
T. A. Edison's, below which the eye is strained (widely quoted; no first source was found)."""


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
    limit = _limit(section, reader)
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


def _limit(section: FlickerSection, reader: ItemReader) -> Told | None:
    """Return how many flashes a second are enough, within what the item says, or is usual."""
    if section.limit is not None:
        return reader.main(section.limit, FREQUENCY, "limit")
    if section.within is not None:
        return reader.main(NO_FLICKER, FREQUENCY, "within")
    return reader.main(NO_FLICKER.within(FREQUENCY.tolerance(NEARLY), NEARLY), FREQUENCY, "blades")
