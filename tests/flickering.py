"""Films that flash, as blocks of codes: made up for the tests of the flash check."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from retime.check.flash_blocks import COLUMNS, ROWS
from retime.check.flashes import FlashMeter

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from retime.check.flash_blocks import Codes
    from retime.check.flash_limits import Kind, Standard
    from retime.check.flashes import Answer, FlashReport

__all__ = ["BLACK", "WHITE", "answer", "coloured", "dark_frames", "grey", "metered", "pulses"]

STANDARD_SHAPE = Fraction(4, 3)
MAINS_50 = Fraction(360, 1000)


def grey(code: int) -> Codes:
    """Return a picture that is one grey all over."""
    return np.full((ROWS, COLUMNS, 3), code, np.uint8)


def coloured(red: int, green: int, blue: int) -> Codes:
    """Return a picture that is one colour all over."""
    return np.broadcast_to(np.array([red, green, blue], np.uint8), (ROWS, COLUMNS, 3)).copy()


BLACK, WHITE = grey(0), grey(255)


def dark_frames(every: int, count: int) -> list[Codes]:
    """Return white pictures, of which one in so many, the first included, is black."""
    return [BLACK if number % every == 0 else WHITE for number in range(count)]


def pulses(starts: Sequence[int], lengths: Sequence[int], count: int) -> list[Codes]:
    """Return black pictures with white ones from each start on for a length."""
    film = [BLACK] * count
    for start, length in zip(starts, lengths, strict=True):
        film[start : start + length] = [WHITE] * length
    return film


def metered(
    film: Iterable[Codes],
    rate: Fraction | int,
    *,
    apart: Fraction = MAINS_50,
    aspect: Fraction = STANDARD_SHAPE,
) -> FlashReport:
    """Return what the meter says of pictures at a constant rate."""
    meter, count = FlashMeter(aspect, apart), 0
    for picture in film:
        meter.see(picture, Fraction(count) / rate)
        count += 1
    return meter.report("film", Fraction(count) / rate, rate=Fraction(rate))


def answer(report: FlashReport, kind: Kind, standard: Standard) -> Answer:
    """Return a report's answer to one question."""
    return next(
        one
        for one in report.answers
        if one.question.kind is kind and one.question.standard is standard
    )
