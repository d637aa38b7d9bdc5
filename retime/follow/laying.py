"""Sounds laid one after the other: silence between them, and one over the end of another."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

__all__ = ["laid"]

_BLOCK = 1 << 15


def laid(
    sounds: Iterable[tuple[int, NDArray[np.float64]]], samples: int, channels: int, overlap: int
) -> Iterator[NDArray[np.float64]]:
    """Yield ``samples`` in blocks of shape (samples, channels), all of them in order.

    ``sounds`` are blocks with the number of their first sample, rising. One may begin up to
    ``overlap`` samples before the end of those that came; there it is added to them.
    """
    at, held = 0, np.zeros((0, channels))  # what may still be added to begins at sample ``at``
    for first, block in sounds:
        begin = first - at
        if begin > len(held):
            yield from (held, *_silence(begin - len(held), channels))
            at, begin, held = first, 0, held[:0]
        over = min(len(held) - begin, len(block))
        held[begin : begin + over] += block[:over]
        ready = np.concatenate([held, block[over:]]) if len(held) else block
        done = max(0, len(ready) - overlap)
        yield ready[:done]
        at, held = at + done, ready[done:].copy()
    yield held
    yield from _silence(samples - at - len(held), channels)


def _silence(count: int, channels: int) -> Iterator[NDArray[np.float64]]:
    for begin in range(0, count, _BLOCK):
        yield np.zeros((min(count - begin, _BLOCK), channels))
