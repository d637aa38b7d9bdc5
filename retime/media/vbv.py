"""The decoder's buffer, reckoned: does every picture arrive in time?

ISO/IEC 13818-2, annex C (from memory), for streams of variable rate (every vbv_delay is 0xFFFF):
the buffer fills at the peak rate until it is full and waits; each picture leaves it whole, at the
moment at which it is decoded. H.264's hypothetical decoder works the same way at variable rate.
"""

from __future__ import annotations

from collections import deque
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from retime.media.mpeg2 import Mpeg2Picture

__all__ = ["DecoderBuffer", "PeakWindow", "decoded"]


def decoded(pictures: Iterable[Mpeg2Picture]) -> Iterator[tuple[Mpeg2Picture, int]]:
    """Yield each picture, in coded order, and how many fields pass until the next is decoded.

    A B picture is shown when it is decoded, for as long as it is shown. While any other picture
    is decoded, the one before it that is no B picture is shown (annex C.9, from memory).
    """
    before: int | None = None
    for picture in pictures:
        if picture.kind == "B":
            yield picture, picture.fields
        else:
            yield picture, picture.fields if before is None else before
            before = picture.fields


class DecoderBuffer:
    """How full a decoder's buffer is as pictures are taken out of it, in coded order.

    ``lowest`` is how many bits were left by the picture that left fewest, below zero by as many
    as had not arrived in time; ``lowest_at`` is that picture's number, None before the first.
    """

    def __init__(self, bits_per_field: Fraction, bits: int, at_first: int | None = None) -> None:
        """Begin with ``at_first`` bits in the buffer, by None with a full one.

        ``bits_per_field`` is the peak rate times the duration of a field.
        """
        # Reckoned in parts of a bit, so that all numbers are whole.
        self._unit = bits_per_field.denominator
        self._inflow = bits_per_field.numerator
        self._full = bits * self._unit
        self._held = self._full if at_first is None else min(self._full, at_first * self._unit)
        self._lowest = self._full
        self._taken = 0
        self.lowest_at: int | None = None

    @property
    def lowest(self) -> Fraction:
        """The fewest bits that were left."""
        return Fraction(self._lowest, self._unit)

    @property
    def underflows(self) -> bool:
        """Whether a picture was not there in time."""
        return self._lowest < 0

    def take(self, bits: int, fields: int) -> None:
        """Take a picture out, and let the buffer fill for the fields until the next is taken."""
        self._held -= bits * self._unit
        if self.lowest_at is None or self._held < self._lowest:
            self._lowest, self.lowest_at = self._held, self._taken
        self._held = min(self._full, self._held + fields * self._inflow)
        self._taken += 1


class PeakWindow:
    """The most bits that are taken within a window of so many fields, wherever it is laid.

    A window holds the moments from its start up to, but not at, its end; the one that holds most
    starts with a picture. ``bits`` is what it holds and ``first`` the number of that picture.
    """

    def __init__(self, fields: Fraction) -> None:
        """Lay a window of so many fields, more than 0."""
        self._length = fields
        self._inside: deque[tuple[int, int]] = deque()  # moment, bits
        self._moment = self._sum = self._passed = 0
        self.bits = self.first = 0

    def take(self, bits: int, fields: int) -> None:
        """Take the next picture, after which so many fields pass."""
        self._inside.append((self._moment, bits))
        self._sum += bits
        while self._moment - self._inside[0][0] >= self._length:
            self._sum -= self._inside.popleft()[1]
            self._passed += 1
        if self._sum > self.bits:
            self.bits, self.first = self._sum, self._passed
        self._moment += fields
