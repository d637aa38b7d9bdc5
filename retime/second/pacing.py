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
_MIXED = 2  # fields, the fewest that a picture is shown for


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
    count = len(packets)
    places = _places(packets)
    if by_fields and coded is not None and not _off(places, packets.tick, coded).any():
        return Pacing(rate=coded, shown=Fraction(count))
    if by_fields and coded is not None and (fields := _fields(packets, places, coded)) is not None:
        return Pacing(rate=coded, shown=Fraction(fields, 2))
    for rate in _candidates(packets, places, told, coded):
        if not _off(places, packets.tick, rate).any():
            return Pacing(rate=rate, shown=Fraction(count))
    off = np.flatnonzero(_off(places, packets.tick, told)) if told else np.array((), np.int64)
    return Pacing(rate=None, shown=Fraction(count), uneven=int(off[0]) if len(off) else None)


def nearest_rate(low: Fraction, high: Fraction) -> Fraction:
    """Return the simplest rate from ``low`` to ``high``: of the least terms (Stern and Brocot)."""
    whole = low.numerator // low.denominator
    if whole == low:
        return low
    if whole + 1 <= high:
        return Fraction(whole + 1)
    return whole + 1 / nearest_rate(1 / (high - whole), 1 / (low - whole))


def _places(packets: Listed) -> NDArray[np.int64]:
    """Return when each picture is shown, rising from 0, in ticks; by durations if nothing else."""
    if packets.times is not None:
        times = np.sort(packets.times)
        return times - times[0]
    return np.concatenate(([0], np.cumsum(packets.durations)[:-1])).astype(np.int64)


def _off(places: NDArray[np.int64], tick: Fraction, rate: Fraction) -> NDArray[np.bool_]:
    """Tell of each picture whether it is further than a tick from where a rate has it."""
    exact = np.arange(len(places)) * float(1 / (rate * tick))
    return np.asarray(np.abs(places - exact) > _NEAR)


def _fields(packets: Listed, places: NDArray[np.int64], rate: Fraction) -> int | None:
    """Return for how many fields all are shown, None where they are not shown for whole fields."""
    field = float(1 / (2 * rate * packets.tick))
    numbers = np.rint(places / field)
    longest = packets.durations[np.argmax(packets.times)] if packets.times is not None else None
    last = float(packets.durations[-1] if longest is None else longest)
    steps = np.append(np.diff(numbers), np.rint(last / field))
    near = (np.abs(places - numbers * field) <= _NEAR).all() and abs(
        last - steps[-1] * field
    ) <= _NEAR
    return int(steps.sum()) if near and (steps >= _MIXED).all() else None


def _candidates(
    packets: Listed, places: NDArray[np.int64], told: Fraction | None, coded: Fraction | None
) -> Iterator[Fraction]:
    """Yield the rates that there may be, the likeliest first."""
    if packets.times is not None and told is not None:
        yield told
    if packets.times is None and len(packets) and packets.durations.min() > 0:
        # Without time stamps the program shares out what the coded pictures say of themselves.
        if coded is not None:
            yield coded
        yield 1 / (int(packets.durations[0]) * packets.tick)
    steps = len(places) - 1
    if packets.times is not None and steps and places[-1] > 1:
        span = int(places[-1])
        if not (np.diff(places) - places[1]).any():
            yield 1 / (int(places[1]) * packets.tick)
        yield nearest_rate(
            steps / ((span + 1) * packets.tick), steps / ((span - 1) * packets.tick)
        )
