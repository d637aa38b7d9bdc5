"""How packets of pictures follow each other: at which rate, and whether evenly.

A time stamp is right to a tick of its clock: 1/90000 s in a transport stream, 1 ms in Matroska.
So a rate is held against all of a file's stamps, and is true where every one lies within a tick.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from retime.second.packets import Listed

__all__ = ["Pacing", "nearest_rate", "pacing_of"]

_NEAR = 1.001  # ticks: a tick, and what floating point adds
_NTSC, _ROUNDED = 1001, 10_000_000
_FEWEST = 2  # fields that a picture is shown for


class Pacing(Struct, frozen=True, kw_only=True):
    """``rate`` is in whole frames a second, None where packets follow no one rate.

    ``shown`` is how many frames are shown, more than there are packets where flags repeat fields.
    ``uneven`` is the first packet, in the order of time, that is out of step with the rate that
    the file tells; None where all are in step, or times are not told.
    """

    rate: Fraction | None
    shown: Fraction
    uneven: int | None = None


def pacing_of(
    packets: Listed, told: Fraction | None, coded: Fraction | None, *, by_fields: bool
) -> Pacing:
    """Return how packets follow each other.

    ``told`` is the rate that the program takes the file to have, ``coded`` that of the coded
    pictures' headers; with ``by_fields`` these may be shown for any number of fields from two.
    """
    frames = Fraction(len(packets))
    if by_fields and coded is not None:
        fields = _fields(packets, coded)
        if fields is not None:
            return Pacing(rate=coded, shown=Fraction(fields, 2))
    for rate in _candidates(packets, told, coded):
        if not _off(packets, rate).any():
            return Pacing(rate=rate, shown=frames)
    off = np.flatnonzero(_off(packets, told)) if told else np.array((), np.int64)
    return Pacing(rate=None, shown=frames, uneven=int(off[0]) if len(off) else None)


def _without_rounding(rate: Fraction) -> Fraction:
    """Return N x 1000/1001 for what is one but for a ten-millionth: what nanoseconds leave."""
    known = Fraction(round(rate * _NTSC), _NTSC)
    return known if abs(known - rate) * _ROUNDED < rate else rate


def nearest_rate(low: Fraction, high: Fraction) -> Fraction:
    """Return the simplest rate from ``low`` to ``high``: of the least terms (Stern and Brocot)."""
    whole = low.numerator // low.denominator
    if whole == low:
        return low
    if whole + 1 <= high:
        return Fraction(whole + 1)
    return whole + 1 / nearest_rate(1 / (high - whole), 1 / (low - whole))


def _places(times: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return times in their order, from 0."""
    rising = np.sort(times)
    return np.asarray(rising - rising[0], np.int64)


def _off(packets: Listed, rate: Fraction) -> NDArray[np.bool_]:
    """Tell of each picture whether it is further than a tick from where a rate has it.

    Without time stamps it is how long each is shown that counts.
    """
    step = float(1 / (rate * packets.tick))
    if not packets.timed:
        return np.asarray(np.abs(packets.durations - step) > _NEAR)
    places = _places(packets.times)
    return np.asarray(np.abs(places - np.arange(len(places)) * step) > _NEAR)


def _fields(packets: Listed, rate: Fraction) -> int | None:
    """Return for how many fields all are shown, None where they are not shown for whole fields.

    A program stream gives a time to some of its pictures only; it is decoded at a steady pace too.
    """
    field = float(1 / (2 * rate * packets.tick))
    steps = np.rint(packets.durations / field)
    places = _places(packets.times if packets.timed else packets.decoded)
    near = np.abs(packets.durations - steps * field).max(initial=0) <= _NEAR
    near &= np.abs(places - np.rint(places / field) * field).max(initial=0) <= _NEAR
    if packets.timed:
        order = np.argsort(packets.times)
        near &= np.array_equal(np.rint(np.diff(places) / field), steps[order][:-1])
    return int(steps.sum()) if near and (steps >= _FEWEST).all() else None


def _candidates(
    packets: Listed, told: Fraction | None, coded: Fraction | None
) -> Iterator[Fraction]:
    """Yield the rates that there may be, the likeliest first."""
    if not len(packets):
        return
    if not packets.timed:
        # The program then shares out what the coded pictures say of themselves.
        if coded is not None:
            yield coded
        if packets.durations.min() > 0:
            yield 1 / (int(packets.durations[0]) * packets.tick)
        return
    if told is not None:
        yield _without_rounding(told)
    places = _places(packets.times)
    steps, span = len(places) - 1, int(places[-1])
    if span > 1:
        if not (np.diff(places) - places[1]).any():
            yield 1 / (int(places[1]) * packets.tick)
        yield nearest_rate(steps / ((span + 1) * packets.tick), steps / ((span - 1) * packets.tick))
