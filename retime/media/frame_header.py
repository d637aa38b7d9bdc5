"""Rates that a codec writes into its frames, put right when coded pictures are copied."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, cast

from av.packet import Packet

if TYPE_CHECKING:
    from av.video.stream import VideoStream

    from retime.film.speed import Rate

__all__ = [
    "PRORES_RATES",
    "prores_rate_code",
    "prores_rate_said",
    "prores_rate_told",
    "prores_rated",
]

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


def prores_rate_said(head: bytes | memoryview) -> int | None:
    """Return the rate code in a coded picture's first bytes; None where it claims none."""
    if len(head) <= _PLACE or bytes(head[4:8]) != b"icpf":
        return None
    return head[_PLACE] & 0x0F or None


def prores_rate_told(code: int | None) -> str:
    """Return what a rate code stands for, in words."""
    return next((str(rate) for rate, known in PRORES_RATES if known == code), f"of code {code}")


def prores_rated(packet: Packet[VideoStream], code: int, *, shared: bool) -> Packet[VideoStream]:
    """Return a packet whose frame header's rate code is ``code``, or unknown.

    A header that claims no rate claims nothing wrong and is left as it is. Copying gigabytes for
    one byte is slow, so the byte is changed in the packet itself, as its demuxer gave it away, and
    stays so: a muxer that has sound to put between keeps packets, and writes them later. What is
    ``shared`` with writers at other rates is copied.
    """
    view = memoryview(packet)
    if prores_rate_said(view) in {None, code}:
        return packet
    if shared:
        packet = _copied(packet)
        view = memoryview(packet)
    view[_PLACE] = view[_PLACE] & 0xF0 | code
    return packet


def _copied(packet: Packet[VideoStream]) -> Packet[VideoStream]:
    copy = cast("Packet[VideoStream]", Packet(packet.size))
    memoryview(copy)[:] = memoryview(packet)
    copy.is_keyframe = packet.is_keyframe
    return copy
