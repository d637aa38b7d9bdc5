"""What a picture is known again by: its samples' digest, or its small picture with a tolerance."""

from __future__ import annotations

import base64
import zlib
from itertools import groupby
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from retime.check.spool import HEIGHT, WIDTH

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from retime.check.spool import Spool

__all__ = [
    "MOST_PICTURES",
    "TOLERANCE",
    "Exact",
    "Tolerant",
    "exact_lines",
    "exact_of",
    "nearest",
    "packed",
    "runs_of",
    "same_pictures",
    "tolerant_of",
    "unpacked",
]

_STEP = 4
_CODES = (HEIGHT // _STEP) * (WIDTH // _STEP)
MOST_PICTURES = 500_000
"""Four hours at 30: a fingerprint that says more in a few bytes is made to fill memory."""
TOLERANCE = 0.75
"""Root mean square, in codes of 16 by 12 averages, that pictures coded anew may differ by."""

Exact: TypeAlias = "list[str]"
"""A digest for every picture."""
Tolerant: TypeAlias = NDArray[np.uint8]
"""A row of 16 x 12 codes for every picture."""


def exact_of(spool: Spool) -> Exact:
    """Return the digests of all pictures that were seen."""
    return [spool.digest(number).hex() for number in range(spool.count)]


def tolerant_of(spool: Spool) -> Tolerant:
    """Return what all pictures that were seen are known again by, whatever coded them."""
    made = np.empty((spool.count, _CODES), np.uint8)
    for number in range(spool.count):
        blocks = spool.picture(number).reshape(HEIGHT // _STEP, _STEP, WIDTH // _STEP, _STEP)
        made[number] = np.rint(blocks.mean(axis=(1, 3))).reshape(-1)
    return made


def exact_lines(digests: Exact) -> Iterator[str]:
    """Yield ``times digest`` for pictures in a row that are the same."""
    for digest, alike in groupby(digests):
        yield f"{sum(1 for _ in alike)} {digest}"


def packed(pictures: Tolerant) -> Iterator[str]:
    """Yield lines of text that hold all pictures: differences, deflated, in base 64."""
    steps = np.diff(pictures.astype(np.int16), axis=0, prepend=np.zeros((1, _CODES), np.int16))
    text = base64.b64encode(zlib.compress(steps.astype(np.uint8).tobytes(), 9)).decode()
    yield from (text[at : at + 96] for at in range(0, len(text), 96))


def unpacked(lines: Iterable[str]) -> Tolerant:
    """Return the pictures in such lines; raises ValueError for what are none."""
    unpacking = zlib.decompressobj()
    most = MOST_PICTURES * _CODES
    try:
        data = unpacking.decompress(base64.b64decode("".join(lines), validate=True), most + 1)
    except zlib.error as error:
        raise ValueError(str(error)) from error
    if len(data) > most:
        raise ValueError(f"there are more than {MOST_PICTURES:,}")
    if not unpacking.eof or unpacking.unused_data:
        raise ValueError("they break off, or something stands behind them")
    if len(data) % _CODES:
        raise ValueError("part of a picture is missing")
    steps = np.frombuffer(data, np.uint8).reshape(-1, _CODES)
    return np.cumsum(steps, axis=0, dtype=np.uint8)


def same_pictures(first: Exact | Tolerant, second: Exact | Tolerant) -> NDArray[np.bool_]:
    """Return for every place that both have whether the same picture stands there."""
    count = min(len(first), len(second))
    if isinstance(first, list) or isinstance(second, list):
        pairs = zip(first[:count], second[:count], strict=True)
        return np.array([bool(one == other) for one, other in pairs], bool)
    apart = first[:count].astype(np.float32) - second[:count]
    return np.asarray(np.sqrt(np.square(apart).mean(axis=1)) <= TOLERANCE)


def nearest(picture: NDArray[np.uint8], among: Tolerant) -> int | None:
    """Return the first picture that is the same within the tolerance, None where none is."""
    apart = among.astype(np.float32) - picture
    squares = np.square(apart).mean(axis=1)
    place = int(squares.argmin())
    return place if squares[place] <= TOLERANCE**2 else None


def runs_of(pictures: Exact | Tolerant) -> Sequence[int]:
    """Return the places at which a picture comes that is not the one before it."""
    if not len(pictures):
        return []
    same = same_pictures(pictures[1:], pictures[:-1])
    return [0, *(int(place) + 1 for place in np.flatnonzero(~same))]
