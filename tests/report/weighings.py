"""Evidence for the tests of how a weighing is told: an invented film, and what is said of it.

The print has 96,000 frames, 6,000 ft of 35mm at 16 frames to the foot: 80 minutes at 20 frames a
second, 72:43.6 at 22, 88:53.3 at 18.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from retime.evidence.model import (
    ASKED_BY,
    Evidence,
    Implied,
    Item,
    Kind,
    Link,
    Measure,
    Question,
    Sense,
    Yardstick,
)
from retime.evidence.quantity import Quantity, between, exactly, within
from retime.evidence.score import Section, fit_score
from retime.evidence.weighing import weigh
from retime.film.gauge import Footage, gauge_named
from retime.film.speed import Speed
from retime.yamldoc.reading import read

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.evidence.weighing import Answer, Weighing
    from retime.speedmap.model import SpeedMap

__all__ = [
    "FRAMES",
    "LINK",
    "answer_to",
    "camera",
    "cue_sheet",
    "everything",
    "evidence",
    "flicker",
    "instruction",
    "item",
    "legibility",
    "runtime",
    "score",
    "speed_item",
    "viewing",
    "walk",
    "weighed",
]

FRAMES = Fraction(96_000)
LINK = Link(question=Question.SHOWING, low=Fraction(1), high=Fraction(5, 4), of=Question.TAKING)
_A_MINUTE = 60
_TIME = Yardstick(measure=Measure.TIME, factor=FRAMES, inverse=True)
_FEET = Yardstick(measure=Measure.FEET_PER_MINUTE, factor=Fraction(60, 16))
_FPS = Yardstick(measure=Measure.FPS, factor=Fraction(1))


def item(name: str, kind: Kind, *implied: Implied, **more: Any) -> Item:
    """Return an item that is wholly trusted, about what its kind speaks of, if nothing else is."""
    given = {"trust": Fraction(1), "question": ASKED_BY[kind], **more}
    return Item(id=name, kind=kind, implied=implied, **given)


def runtime(name: str, minutes: int, by: int, **more: Any) -> Item:
    """Return a running time in minutes, within so many."""
    lasts = within(Fraction(minutes * _A_MINUTE), Fraction(by * _A_MINUTE))
    said = f"{minutes} min within {by} min"
    return item(
        name,
        Kind.RUNTIME,
        Implied(speed=exactly(FRAMES) / lasts, said=said, yardstick=_TIME),
        **more,
    )


def speed_item(name: str, speed: Quantity, kind: Kind = Kind.INSTRUCTION, **more: Any) -> Item:
    """Return an item that states a speed."""
    said = f"{float(speed.value):g} fps within {float(speed.high - speed.value):g} fps"
    return item(name, kind, Implied(speed=speed, said=said, yardstick=_FPS), **more)


def instruction(**more: Any) -> Item:
    """Return a letter that asks for 80 ft/min within 4, which is 21 1/3 fps."""
    stated = within(Fraction(80), Fraction(4)).times(Fraction(16, 60))
    said = "80 ft/min within 4 ft/min"
    return item(
        "letter",
        Kind.INSTRUCTION,
        Implied(speed=stated, said=said, yardstick=_FEET),
        **more,
    )


def camera(**more: Any) -> Item:
    """Return a note of 2.25 turns of the crank a second, eight frames a turn: 18 fps."""
    stated = within(Fraction(9, 4), Fraction(9, 80)).times(Fraction(8))
    return item(
        "crank",
        Kind.CAMERA,
        Implied(
            speed=stated,
            said="2.25 turns a second within 5 %",
            yardstick=Yardstick(measure=Measure.TURNS, factor=Fraction(1, 8)),
        ),
        **more,
    )


def walk(**more: Any) -> Item:
    """Return a walker of 9.5 film frames a step, at 1.9 steps a second within 0.15: 18.05 fps."""
    steps = within(Fraction(19, 10), Fraction(3, 20))
    return item(
        "walker",
        Kind.MOTION,
        Implied(
            speed=steps.times(Fraction(19, 2)),
            said="9.5 frames a step",
            yardstick=Yardstick(measure=Measure.FRAMES, factor=Fraction(10, 19)),
        ),
        **more,
    )


def viewing(**more: Any) -> Item:
    """Return what a room of people voted for: 20 fps within 1."""
    return speed_item("viewing", within(Fraction(20), Fraction(1)), Kind.VIEWING, **more)


def legibility(**more: Any) -> Item:
    """Return a title of 12 words and 100 frames, legible at 20 fps or less, within 1.5."""
    return item(
        "long-title",
        Kind.LEGIBILITY,
        Implied(
            speed=within(Fraction(20), Fraction(3, 2)),
            sense=Sense.AT_MOST,
            said="12 words in 100 frames",
            yardstick=Yardstick(measure=Measure.TIME, factor=Fraction(100), inverse=True),
        ),
        **more,
    )


def flicker(**more: Any) -> Item:
    """Return a shutter of three blades that may not flicker: 16 fps or more, within 1."""
    return item(
        "shutter",
        Kind.FLICKER,
        Implied(
            speed=within(Fraction(16), Fraction(1)),
            sense=Sense.AT_LEAST,
            said="3 blades, 48 flashes a second",
            yardstick=Yardstick(measure=Measure.FLASHES, factor=Fraction(3)),
        ),
        **more,
    )


def score(
    name: str = "score", minutes: Sequence[int] = (10, 12, 20, 16, 10, 12), **more: Any
) -> Item:
    """Return a score of sections of so many minutes within 3 %, at 20 frames a second.

    Of the third section 4,800 frames, 300 ft, are lost: it lasts as if they were there.
    """
    lost = {2: 4_800}
    sections = [
        Section(
            name=f"{place + 1}. part",
            frames=exactly(Fraction(lasts * _A_MINUTE * 20 - lost.get(place, 0))),
            seconds=within(Fraction(lasts * _A_MINUTE), Fraction(3 * lasts * _A_MINUTE, 100)),
        )
        for place, lasts in enumerate(minutes)
    ]
    fit = fit_score(sections)
    kept = sum(sections[i].frames.value for i, one in enumerate(fit.sections) if not one.frames)
    return item(
        name,
        Kind.SCORE,
        Implied(
            speed=fit.speed,
            said=f"{len(sections)} sections within 3 %",
            yardstick=Yardstick(measure=Measure.TIME, factor=Fraction(kept), inverse=True),
        ),
        score=fit,
        **more,
    )


def cue_sheet(**more: Any) -> Item:
    """Return a sheet that is at odds with itself: its timings say 20 fps, its heading 24."""
    timings = exactly(FRAMES) / within(Fraction(80 * _A_MINUTE), Fraction(4 * _A_MINUTE))
    printed = Implied(
        speed=between(Fraction(23), Fraction(25)),
        said="23..25 fps",
        part="printed speed",
        yardstick=_FPS,
    )
    told = Implied(speed=timings, said="80 min within 4 min", part="timings", yardstick=_TIME)
    return item("cue-sheet", Kind.CUE_SHEET, told, printed, **more)


def evidence(
    *items: Item,
    candidates: Sequence[int | Fraction] = (18, 20, 22, 24),
    links: Sequence[Link] = (),
    speed_map: SpeedMap | None = None,
    film: str = "The Tidewatcher's Lamp",
) -> Evidence:
    """Return a file of evidence with these items, as if it had been read."""
    return Evidence(
        film=film,
        gauge=gauge_named("35mm"),
        footage=Footage.NOMINAL,
        length=exactly(FRAMES),
        candidates=tuple(Speed(Fraction(speed)) for speed in candidates),
        items=items,
        links=tuple(links),
        speed_map=speed_map,
        tree=read("format: retime-evidence/1\n", Path("evidence.yaml")),
    )


@cache
def everything() -> Evidence:
    """Return evidence of every kind of telling: groups, limits, conflicts, a score, a link."""
    return evidence(
        runtime(
            "notice", 79, 4, trust=Fraction(7, 10), group="press", source="Skarrow Courier, p. 3"
        ),
        runtime("advertisement", 80, 5, trust=Fraction(1, 2), group="press", source="a handbill"),
        runtime(
            "memoir", 58, 2, trust=Fraction(1, 5), source="E. Quorn, Lamps", note="years later"
        ),
        score(trust=Fraction(9, 10), source="the conductor's part"),
        cue_sheet(trust=Fraction(3, 5), source="music cue sheet"),
        instruction(trust=Fraction(4, 5), source="the producer's letter"),
        camera(trust=Fraction(9, 10), source="the cameraman's daybook"),
        walk(trust=Fraction(1, 2), source="shot 1/4"),
        viewing(source="a screening"),
        legibility(trust=Fraction(4, 5), source="shot 1/3"),
        flicker(trust=Fraction(4, 5), source="the projector's handbook"),
        runtime("rumour", 110, 10, trust=Fraction(0), source="hearsay"),
        links=[LINK],
    )


def weighed(told: Evidence) -> Weighing:
    """Return the weighing of evidence; what is asked for again and again is weighed once."""
    return _everything_weighed() if told is everything() else weigh(told)


@cache
def _everything_weighed() -> Weighing:
    return weigh(everything())


def answer_to(question: Question, weighing: Weighing) -> Answer:
    """Return a weighing's answer to a question."""
    return next(answer for answer in weighing.answers if answer.question is question)
