"""A deliverable's strips as CSV, exact: one row a strip."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from retime.film.timecode import label
from retime.lists.strips import Shows

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from retime.lists.strips import Programme, Strip

__all__ = ["STRIP_COLUMNS", "strip_table"]

STRIP_COLUMNS = (
    "output_first",
    "output_last",
    "record_in",
    "record_out",
    "shows",
    "reel",
    "first",
    "last",
    "shot",
    "kind",
    "name",
    "speed",
    "per_output",
)
_MOST_BITS = 4_000
_PLACES = 12


def strip_table(programme: Programme) -> str:
    """Return the table as text.

    ``per_output`` is film frames to an output frame, below 0 where they run backwards; it and
    ``speed`` are exact fractions, and decimals to 12 places where these have over a thousand
    digits. ``reel``, ``first`` and ``last`` are empty for what is no film; the labels are empty
    where the rate has none.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(STRIP_COLUMNS)
    writer.writerows(_row(programme, strip) for strip in programme.strips)
    return text.getvalue()


def _row(programme: Programme, strip: Strip) -> Iterator[str]:
    yield str(strip.output)
    yield str(strip.output + strip.frames - 1)
    labelled = programme.rate.nominal.fps.denominator == 1
    for output in (strip.output, strip.output + strip.frames):
        at = programme.start + output
        yield label(at, programme.rate, drop=programme.drop) if labelled else ""
    yield str(strip.shows)
    film = strip.is_film
    yield strip.reel if film else ""
    yield str(strip.first) if film else ""
    yield str(strip.last) if film else ""
    yield strip.shot or ""
    yield str(strip.kind)
    yield strip.name or strip.plate or ""
    if strip.ramp is not None:
        yield " -> ".join(map(_exact, strip.ramp))
    else:
        yield "" if strip.speed is None else _exact(strip.speed)
    yield "" if strip.shows is Shows.BLACK else _exact(strip.ratio)


def _exact(x: Fraction) -> str:
    if max(x.numerator.bit_length(), x.denominator.bit_length()) <= _MOST_BITS:
        return str(x)
    scaled = round(x * 10**_PLACES)
    whole, rest = divmod(abs(scaled), 10**_PLACES)
    return f"{'-' if scaled < 0 else ''}{whole}.{rest:0{_PLACES}}"
