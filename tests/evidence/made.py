"""Short ways to make evidence by hand, for tests of what it weighs."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from retime.evidence.model import Evidence, Implied, Item, Kind, Link, Measure, Question, Yardstick
from retime.evidence.quantity import exactly, within
from retime.evidence.score import Section
from retime.film.gauge import Footage, gauge_named
from retime.film.speed import Speed
from retime.yamldoc.reading import read

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.quantity import Quantity

__all__ = ["FRAMES", "evidence", "item", "link", "runtime", "says", "section", "speed", "stated"]

FRAMES = 100_000
_FPS = Yardstick(measure=Measure.FPS, factor=Fraction(1))
_TIME = Yardstick(measure=Measure.TIME, factor=Fraction(FRAMES), inverse=True)


def speed(fps: float) -> Speed:
    """Return a speed."""
    return Speed(Fraction(fps))


def says(figure: Quantity, **more: Any) -> Implied:
    """Return a speed that something states."""
    return Implied(**{"speed": figure, "said": "a speed", "yardstick": _FPS, **more})


def item(name: str, *implied: Implied, trust: float = 1, **more: Any) -> Item:
    """Return an item that speaks of showing, if nothing else is said."""
    given = {"kind": Kind.INSTRUCTION, "question": Question.SHOWING, **more}
    return Item(id=name, implied=implied, trust=Fraction(trust), **given)


def stated(name: str, fps: float, share: float, **more: Any) -> Item:
    """Return an item that states a speed within a share of it."""
    return item(name, says(within(Fraction(fps), Fraction(fps) * Fraction(share))), **more)


def runtime(name: str, seconds: float, within_seconds: float, **more: Any) -> Item:
    """Return an item that tells for how long all frames of the print lasted."""
    lasts = within(Fraction(seconds), Fraction(within_seconds))
    implied = says(exactly(Fraction(FRAMES)) / lasts, yardstick=_TIME)
    return item(name, implied, kind=Kind.RUNTIME, **more)


def link(question: Question, low: float, high: float, of: Question) -> Link:
    """Return that one question's speed is ``low`` to ``high`` times the other's."""
    return Link(question=question, low=Fraction(low), high=Fraction(high), of=of)


def evidence(
    items: Sequence[Item], candidates: Sequence[float], links: Sequence[Link] = ()
) -> Evidence:
    """Return a file of evidence about a print of known length."""
    return Evidence(
        film="The Tidewatcher's Lamp",
        gauge=gauge_named("35mm"),
        footage=Footage.NOMINAL,
        length=exactly(Fraction(FRAMES)),
        candidates=tuple(speed(fps) for fps in candidates),
        items=tuple(items),
        links=tuple(links),
        tree=read("film: The Tidewatcher's Lamp\n", Path("lamp.yaml")),
    )


def section(name: str, frames: float, seconds: float, share: float) -> Section:
    """Return a section of a score whose time is stated within a share of it."""
    lasts = Fraction(seconds)
    return Section(
        name=name,
        frames=exactly(Fraction(frames)),
        seconds=within(lasts, lasts * Fraction(share)),
    )
