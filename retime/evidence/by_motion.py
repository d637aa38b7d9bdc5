"""Movements that are known from life, measured in film frames."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from retime.errors import NotationError
from retime.evidence.families import DISTANCE, FREQUENCY, NUMBER
from retime.evidence.figures import FINEST, WIDEST
from retime.evidence.item_reader import Told
from retime.evidence.model import Implied, Measure, Yardstick
from retime.evidence.natural import fall, natural_named, pendulum
from retime.evidence.quantity import around
from retime.signal.marks import fit_marks
from retime.signal.period import Unclear

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.document import MotionSection
    from retime.evidence.item_reader import ItemReader

__all__ = ["motion"]

_IN_LIFE = ("natural", "frequency", "pendulum", "fall")


def motion(section: MotionSection, reader: ItemReader) -> tuple[Implied, ...]:
    """Return the frames of a period, or of a fall, times how often a second it comes in life."""
    given = reader.only(section, ("frames", "marks"))
    in_life, frames = _in_life(section, reader), None
    if given == "frames" and section.frames is not None:
        frames = reader.main(section.frames, NUMBER, "frames")
    elif given == "marks" and section.marks is not None:
        frames = _marked(section.marks, section, reader)
    if frames is None or in_life is None:
        return ()
    speed = frames.quantity * in_life.quantity
    if speed.variance < FINEST**2 / 3 * speed.value**2:
        what = "the marks stand so evenly that nothing is doubtful"
        reader.tell("tolerance", what, "say within what the movement itself is known", "marks")
        return ()
    yardstick = Yardstick(measure=Measure.FRAMES, factor=1 / in_life.quantity.value)
    said = f"{frames.said}, {in_life.said}"
    return (Implied(speed=speed, said=said, yardstick=yardstick),)


def _in_life(section: MotionSection, reader: ItemReader) -> Told | None:
    """Return how often a second a movement comes in life; of a fall, 1 over its seconds."""
    given = reader.only(section, _IN_LIFE)
    if given == "natural":
        try:
            known = natural_named(str(section.natural))
        except NotationError as error:
            reader.tell("motion", error.text, error.hint, "natural")
            return None
        return Told(quantity=known.frequency, said=f"a {known.counted} of a {known.name}")
    if given == "frequency" and section.frequency is not None:
        often = reader.other(section.frequency, FREQUENCY, "frequency")
        return None if often is None else Told(quantity=often, said=section.frequency.text)
    figure = section.pendulum if given == "pendulum" else section.fall
    if given is None or figure is None:
        return None
    length = reader.other(figure, DISTANCE, given)
    if length is None:
        return None
    law = pendulum if given == "pendulum" else fall
    return Told(quantity=law(length), said=f"a {given} of {figure.text}")


def _marked(marks: Sequence[Fraction], section: MotionSection, reader: ItemReader) -> Told | None:
    """Return the period of marks, as sure as their standard error says."""
    reader.beside(section, "marks", ("within", "fall"))
    if section.within is not None or section.fall is not None:
        return None
    fitted = fit_marks([float(mark) for mark in marks])
    if isinstance(fitted, Unclear):
        reader.tell("motion", fitted.reason, "write frames: 11 within 0.5 instead", "marks")
        return None
    period = around(Fraction(fitted.period), Fraction(fitted.standard_error))
    if period.high - period.value > WIDEST * period.value:
        what = "the marks lie so close together that they say nothing"
        reader.tell("motion", what, "mark more of them, or write frames: 11 within 0.5", "marks")
        return None
    said = f"{float(period.value):.2f} frames by {len(marks)} marks"
    return Told(quantity=period, said=said)
