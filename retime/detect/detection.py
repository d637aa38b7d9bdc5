"""What was found in a transfer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

if TYPE_CHECKING:
    from fractions import Fraction
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

    from retime.signal.leaps import Leaps
    from retime.signal.shown import Stretch

__all__ = ["Detection", "OnFilm", "Trace", "numbered_from"]


class OnFilm(Struct, frozen=True, kw_only=True):
    """Film frames printed more than once onto the film, in pictures ``first`` to ``last``.

    ``runs`` are of different pictures, and ``phase`` is how many of the first run have gone by.
    """

    first: int
    last: int
    runs: tuple[int, ...]
    phase: int
    confidence: float


class Trace(Struct, frozen=True, eq=False, kw_only=True):
    """What can be drawn: for each picture the change of both fields and whether it was judged new.

    ``change`` is mean squared, in codes of 8 bits; ``same`` tells that it is none to the bit.
    """

    change: NDArray[np.float64]
    same: NDArray[np.bool_]
    new: NDArray[np.bool_]


class Detection(Struct, frozen=True, kw_only=True):
    """The cadences of a transfer.

    ``frames`` is how many pictures were looked at, from picture ``first`` of the file on; all
    pictures are numbered as the file has them. ``rate_said`` is what its header says, and
    ``order_said`` of its fields. ``digest`` is that of the file by which it is known again
    (``retime.media.scan_digest``). ``film_frames`` counts those that differ. ``stills`` are first
    and last pictures where hardly anything moves, so that no cadence can be told; where one is told
    for them it is that on either side. ``leaps`` are where film frames seem to be left out.
    """

    file: Path
    first: int
    frames: int
    rate_said: Fraction | None
    order_said: str | None
    digest: str
    stretches: tuple[Stretch, ...]
    film_frames: int
    stills: tuple[tuple[int, int], ...]
    on_film: tuple[OnFilm, ...]
    leaps: tuple[Leaps, ...]
    trace: Trace


def numbered_from(found: Detection, first: int) -> Detection:
    """Return what was found with pictures that were numbered from 0 numbered from ``first``."""

    def moved(stretch: Stretch) -> Stretch:
        odd = tuple(replace(one, picture=one.picture + first) for one in stretch.odd)
        return replace(stretch, first=stretch.first + first, last=stretch.last + first, odd=odd)

    return replace(
        found,
        first=found.first + first,
        stretches=tuple(moved(one) for one in found.stretches),
        stills=tuple((a + first, b + first) for a, b in found.stills),
        on_film=tuple(
            replace(one, first=one.first + first, last=one.last + first) for one in found.on_film
        ),
        leaps=tuple(
            replace(one, places=tuple(place + first for place in one.places)) for one in found.leaps
        ),
    )
