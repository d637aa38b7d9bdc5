"""Documents that tell a time, and what it implies: running times, programmes, days of shooting."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from retime.evidence.families import LENGTH, SHARE, TIME
from retime.evidence.model import Implied, Measure, Yardstick
from retime.evidence.quantity import exactly

if TYPE_CHECKING:
    from retime.evidence.document import (
        LessSection,
        ProgrammeSection,
        RuntimeSection,
        StockSection,
    )
    from retime.evidence.figures import Figure
    from retime.evidence.item_reader import ItemReader

__all__ = ["programme", "runtime", "stock"]


def runtime(section: RuntimeSection, reader: ItemReader) -> tuple[Implied, ...]:
    """Return the print's frames over the running time."""
    time, frames = reader.main(section.time, TIME, "time"), reader.length()
    if time is None or frames is None:
        return ()
    yardstick = Yardstick(measure=Measure.TIME, factor=frames.value, inverse=True)
    return (Implied(speed=frames / time.quantity, said=time.said, yardstick=yardstick),)


def programme(section: ProgrammeSection, reader: ItemReader) -> tuple[Implied, ...]:
    """Return the print's frames over what a show leaves of the time to the next one."""
    apart, frames = reader.main(section.apart, TIME, "apart"), reader.length()
    said, taken = [], exactly(Fraction(0))
    for name, figure in _taken(section.less):
        time = reader.other(figure, TIME, "less", name)
        if time is None:
            return ()
        taken += time
        said.append(f"{name} {figure.text}")
    if apart is None or frames is None:
        return ()
    left = apart.quantity - taken
    if left.low <= 0:
        what = "nothing may be left for the film between the shows"
        reader.tell("programme", what, "take less off, or off a longer time", "less", key=True)
        return ()
    yardstick = Yardstick(
        measure=Measure.TIME, factor=frames.value, inverse=True, offset=taken.value
    )
    told = " less ".join(filter(None, (apart.said, ", ".join(said))))
    return (Implied(speed=frames / left, said=told, yardstick=yardstick),)


def stock(section: StockSection, reader: ItemReader) -> tuple[Implied, ...]:
    """Return the frames exposed over the part of the time that the camera ran."""
    exposed = reader.other(section.exposed, LENGTH, "exposed")
    time = reader.other(section.time, TIME, "time")
    share = reader.main(section.running, SHARE, "running")
    if share is not None and share.quantity.high > 1:
        what = f"a camera that runs {share.said} of the time runs more than all of it"
        reader.tell("stock", what, "write a part of 1, such as 0.5..0.7", "running")
        return ()
    if exposed is None or time is None or share is None:
        return ()
    yardstick = Yardstick(
        measure=Measure.TIME, factor=exposed.value / share.quantity.value, inverse=True
    )
    said = f"{section.exposed.text} in {section.time.text}, running {share.said} of it"
    return (Implied(speed=exposed / (time * share.quantity), said=said, yardstick=yardstick),)


def _taken(less: LessSection | None) -> list[tuple[str, Figure[Fraction]]]:
    if less is None:
        return []
    named = ((name, getattr(less, name)) for name in type(less).model_fields)
    return [(name, figure) for name, figure in named if figure is not None]
