"""Odds that a field is new, by changes that are made up here: two levels, and what disturbs."""

from __future__ import annotations

import numpy as np

from retime.signal.leaning import cuts_in, leaning

COUNT = 120
NEW, REPEAT = 40.0, 3.0


def changes() -> tuple[np.ndarray[tuple[int], np.dtype[np.float32]], np.ndarray]:
    """Return changes of 2 film frames in 3 pictures, uneven by a quarter, and which are new."""
    chance = np.random.default_rng(2)
    new = np.arange(COUNT) % 3 > 0
    change = np.where(new, NEW, REPEAT) * np.exp(chance.normal(0, 0.25, COUNT))
    return change.astype(np.float32), new


def odds(change: np.ndarray[tuple[int], np.dtype[np.float32]]) -> np.ndarray:
    return leaning(change, np.zeros(COUNT, np.bool_), cuts_in(change))


def test_flashes_make_no_repeats_of_what_is_new_beside_them() -> None:
    """A leader's flashes come so close that neither is far beyond its neighbours."""
    change, new = changes()
    for flash in (55, 56, 59):
        change[flash] = 5000
    assert not cuts_in(change)[[55, 56]].any()

    told = odds(change)

    beside = np.r_[50:55, 57, 58, 60:65]
    assert (told[beside][new[beside]] > 0).all()
    assert (told[beside][~new[beside]] < 0).all()


def test_repeats_that_a_coder_left_out_do_not_hide_those_it_coded() -> None:
    """Of repeats by turns, a quarter cost the coder nothing; the others are coded with noise."""
    chance = np.random.default_rng(2)
    new = np.arange(COUNT) % 2 > 0
    change = np.where(new, 20.0, 2.5) * np.exp(chance.normal(0, 0.4, COUNT))
    change[np.flatnonzero(~new)[::4]] = 0.1

    told = odds(change.astype(np.float32))[1:]

    assert (told[~new[1:]] < 0).mean() > 0.9
    assert (told[new[1:]] > 0).mean() > 0.9
