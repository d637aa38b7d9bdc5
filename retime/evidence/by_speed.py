"""Documents that tell a speed outright: instructions, printed speeds, cameras and their cranks."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from retime.evidence.families import FREQUENCY, LENGTH, SPEED, TIME
from retime.evidence.item_reader import Told
from retime.evidence.model import Implied, Measure, Yardstick
from retime.film.notation import SpeedUnit

if TYPE_CHECKING:
    from retime.evidence.document import CameraSection, InstructionSection
    from retime.evidence.figures import Figure
    from retime.evidence.item_reader import ItemReader
    from retime.evidence.measures import Measures
    from retime.film.length import SpokenLength
    from retime.film.notation import SpokenSpeed

__all__ = ["FRAMES_A_TURN", "camera", "instruction", "told_speed"]

FRAMES_A_TURN = 8
"""Of a hand-cranked 35 mm camera, where an item says nothing else (common practice)."""

_SIXTY = 60
_THOUSAND = 1000


def told_speed(
    figure: Figure[SpokenSpeed], reader: ItemReader, part: str = "", *, alone: bool = False
) -> tuple[Implied, ...]:
    """Return a speed as told under ``speed``; ``alone`` if the item's tolerance is another's."""
    told = reader.main(figure, SPEED, "speed", alone=alone)
    if told is None:
        return ()
    yardstick = _as_spoken(figure.first.unit, reader.measures)
    return (Implied(speed=told.quantity, said=told.said, part=part, yardstick=yardstick),)


def _as_spoken(unit: SpeedUnit, measures: Measures) -> Yardstick:
    """Return the yardstick that tells speeds in the unit in which one was told."""
    match unit:
        case SpeedUnit.FEET_PER_MINUTE:
            return Yardstick(measure=Measure.FEET_PER_MINUTE, factor=_SIXTY / measures.per_foot)
        case SpeedUnit.METRES_PER_MINUTE if measures.per_metre is not None:
            return Yardstick(measure=Measure.METRES_PER_MINUTE, factor=_SIXTY / measures.per_metre)
        case SpeedUnit.TIME_PER_1000_FEET:
            frames = _THOUSAND * measures.per_foot
            return Yardstick(measure=Measure.TIME, factor=frames, inverse=True)
        case _:
            return Yardstick(measure=Measure.FPS, factor=Fraction(1))


def instruction(section: InstructionSection, reader: ItemReader) -> tuple[Implied, ...]:
    """Return the speed told, or that of a length in its time."""
    given = reader.only(section, ("speed", "time"))
    if given == "speed" and section.speed is not None:
        reader.beside(section, given, ("per", "reel-length"))
        return told_speed(section.speed, reader)
    if given is None or section.time is None:
        return ()
    time, measured = reader.main(section.time, TIME, "time"), _measured(section, reader)
    if time is None or measured is None:
        return ()
    yardstick = Yardstick(measure=Measure.TIME, factor=measured.quantity.value, inverse=True)
    said = f"{time.said} for {measured.said}"
    return (Implied(speed=measured.quantity / time.quantity, said=said, yardstick=yardstick),)


def _measured(section: InstructionSection, reader: ItemReader) -> Told | None:
    """Return how many frames an instruction's time is the time of."""
    if section.per is None:
        what = "a time says no speed by itself"
        reader.tell("kinds", what, "write per: 1000 ft, or per: reel", "time", key=True)
        return None
    if section.per.length is not None:
        reader.beside(section, "per", ("reel-length",))
        return _frames(section.per.length, "", reader, "per")
    if section.reel_length is None:
        what = "how long is a reel?"
        reader.tell("kinds", what, "write reel-length: 300 m, or per: 1000 ft", "per")
        return None
    return _frames(section.reel_length, "a reel of ", reader, "reel-length")


def _frames(figure: Figure[SpokenLength], before: str, reader: ItemReader, key: str) -> Told | None:
    frames = reader.other(figure, LENGTH, key)
    return None if frames is None else Told(quantity=frames, said=before + figure.text)


def camera(section: CameraSection, reader: ItemReader) -> tuple[Implied, ...]:
    """Return the speed of a counter or a motor, or of a crank: turns times frames a turn."""
    given = reader.only(section, ("speed", "turns"))
    if given == "speed" and section.speed is not None:
        reader.beside(section, given, ("frames-a-turn",))
        return told_speed(section.speed, reader)
    if given is None or section.turns is None:
        return ()
    turns = reader.main(section.turns, FREQUENCY, "turns")
    if turns is None:
        return ()
    frames = Fraction(section.frames_a_turn or FRAMES_A_TURN)
    yardstick = Yardstick(measure=Measure.TURNS, factor=1 / frames)
    said = f"{turns.said}, {frames} frames a turn"
    return (Implied(speed=turns.quantity.times(frames), said=said, yardstick=yardstick),)
