"""What is measured of each picture of a transfer: how it differs from those before it.

Pictures are taken apart into their upper and lower fields, whatever the file says of them, so that
whole repeats and woven fields are seen by the same measures. Everything is in codes of 8 bits.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Flags = NDArray[np.bool_]
    Measures = NDArray[np.float32]

__all__ = ["FURTHEST", "Changes"]

FURTHEST = 28
"""How far back pictures are compared: a cycle of 25, and what its two ends lean on."""


class Changes(Struct, frozen=True, eq=False, kw_only=True):
    """Measures of n pictures; in those that compare, the first picture has zeros.

    ``upper`` and ``lower`` are the mean squared change of a field since the picture before, and
    ``upper_same``, ``lower_same`` say that it is the same to the bit. ``places``, shape (n, 4), are
    where a field lies on the way from one of the other kind to the next: 0 is like the first, 1
    like the second. They are those of the upper field between the lower ones before and beside it,
    of the lower field before between the upper ones before and beside it, of the upper field
    before between the lower ones, and of the lower field between the upper ones: the first two are
    where fields belong if upper ones come first in time, the others if lower ones do.

    ``detail`` is what upper and lower fields differ by though they are of one moment. ``apart``,
    shape (n, FURTHEST + 1), is the mean squared difference to the picture so many before, in codes,
    and ``apart_in_light`` in linear light; 0 where there is none. Both are of pictures made half as
    small; ``details_apart`` is the difference of the detail that is lost by that. ``steadied`` is
    the change since the picture before once a small shift and a change of brightness are taken out.
    ``quiet`` is the change in those parts of the picture that change least: that of grain, if there
    is any, for hardly anything moves there.
    """

    upper: Measures
    lower: Measures
    upper_same: Flags
    lower_same: Flags
    places: Measures
    detail: Measures
    apart: Measures
    apart_in_light: Measures
    details_apart: Measures
    steadied: Measures
    quiet: Measures

    def __len__(self) -> int:
        """Return how many pictures there are."""
        return len(self.upper)
