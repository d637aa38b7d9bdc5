"""Which variant of DNxHD a coded picture is of; FFmpeg calls all of them DNXHD."""

from __future__ import annotations

from retime.profile.dnxhd import DNXHD_IDS

__all__ = ["dnxhd_variant"]

_ID = slice(0x28, 0x2C)  # SMPTE ST 2019-1, the picture header: big-endian, as FFmpeg reads it


def dnxhd_variant(picture: bytes) -> str | None:
    """Return the name of a coded picture's variant, None for an ID that none of ours has."""
    return DNXHD_IDS.get(int.from_bytes(picture[_ID], "big"))
