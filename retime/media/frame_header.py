"""Rates that a codec writes into its frames, put right when coded pictures are copied."""

from __future__ import annotations

from contextlib import contextmanager
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from av.packet import Packet
    from av.video.stream import VideoStream

    from retime.film.speed import Rate

__all__ = ["PRORES_RATES", "prores_rate_code", "prores_rate_set"]

# SMPTE RDD 36, frame_rate_code; the order was read in public implementations, not in the document.
PRORES_RATES: tuple[tuple[Fraction, int], ...] = (
    (Fraction(24000, 1001), 1),
    (Fraction(24), 2),
    (Fraction(25), 3),
    (Fraction(30000, 1001), 4),
    (Fraction(30), 5),
    (Fraction(50), 6),
    (Fraction(60000, 1001), 7),
    (Fraction(60), 8),
    (Fraction(100), 9),
    (Fraction(120000, 1001), 10),
    (Fraction(120), 11),
)
_UNKNOWN = 0
_PLACE = 21  # size 4, 'icpf' 4, header size 2, version 2, encoder 4, size 4, chroma and order 1


def prores_rate_code(rate: Rate) -> int:
    """Return the code that a ProRes frame header has for a rate, 0 where it has none."""
    return dict(PRORES_RATES).get(rate.fps, _UNKNOWN)


@contextmanager
def prores_rate_set(packet: Packet[VideoStream], code: int) -> Iterator[None]:
    """Have a frame header's rate code be ``code``, or unknown, while its packet is written.

    A header that claims no rate claims nothing wrong and is left as it is. The byte is changed in
    the packet itself, which is as its demuxer gave it away, and put back for the next writer:
    copying gigabytes for it costs as much as writing them.
    """
    view = memoryview(packet)
    was = view[_PLACE]
    if bytes(view[4:8]) == b"icpf" and was & 0x0F != _UNKNOWN:
        view[_PLACE] = was & 0xF0 | code
    try:
        yield
    finally:
        view[_PLACE] = was
