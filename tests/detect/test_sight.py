"""What is measured of pictures, held against plain sums over all their values."""

from __future__ import annotations

import numpy as np
import pytest

from retime.detect.sight import Sight
from retime.second.halves import Half, Halves

COLUMNS, ROWS, COUNT = 32, 12, 6


@pytest.mark.parametrize("back", [1, 2, 4])
def test_the_large_and_the_detail_are_all_that_pictures_differ_by(back: int) -> None:
    """Parseval: a difference has the energy of its parts at right angles (textbook).

    Of four values the mean is one part, and the detail is three of twice its length each.
    """
    chance = np.random.default_rng(11)
    fields = chance.uniform(0, 255, (COUNT, 2, ROWS, COLUMNS)).astype(np.float32)
    sight = Sight(96, COLUMNS, ROWS)
    for upper, lower in fields:
        sight.see(Halves(Half(upper, upper.tobytes()), Half(lower, lower.tobytes())))

    changes = sight.changes()

    whole = ((fields[back:] - fields[:-back]) ** 2).mean(axis=(1, 2, 3))
    parts = changes.apart + 3 / 4 * changes.details_apart
    assert whole == pytest.approx(parts[back:, back], rel=1e-4)
    assert (changes.details_apart[:back, back] == 0).all()


def test_detail_stands_still_where_only_brightness_changes() -> None:
    chance = np.random.default_rng(12)
    field = chance.uniform(0, 200, (ROWS, COLUMNS)).astype(np.float32)
    sight = Sight(96, COLUMNS, ROWS)
    for brightness in (0, 30):
        lit = field + np.float32(brightness)
        sight.see(Halves(Half(lit, lit.tobytes()), Half(lit, lit.tobytes())))

    changes = sight.changes()

    assert 900 == pytest.approx(changes.apart[1, 1], rel=1e-4)
    assert 0 == pytest.approx(changes.details_apart[1, 1], abs=1e-2)
