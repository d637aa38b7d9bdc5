"""The variants of DNxHD and DNxHR, which SMPTE ST 2019-1 calls VC-3.

A coded picture of DNxHD is as large at any rate: a variant is named by its lines and by the
megabits a second that it takes at 25 frames a second, with an x for 10 bits. FFmpeg's encoder
finds the compression ID by that figure, whatever the rate.
"""

from __future__ import annotations

from retime.film.scanning import Scanning
from retime.profile.codec import ONLY_PROGRESSIVE, Variant

__all__ = ["DNXHD", "DNXHD_IDS", "DNXHR"]

_HIGH, _LOW = (1920, 1080), (1280, 720)
_8_BITS, _10_BITS = ("yuv422p",), ("yuv422p10le",)
_ST_296 = "1280x720 is progressive (SMPTE ST 296)"

# The compression IDs of each, the second one interlaced; FFmpeg's table of them.
_IDS = {
    "1080-36": (1253,),
    "1080-120": (1237, 1242),
    "1080-185": (1238, 1243),
    "1080-185x": (1235, 1241),
    "720-60": (1252,),
    "720-90": (1251,),
    "720-90x": (1250,),
}
DNXHD_IDS = {number: name for name, numbers in _IDS.items() for number in numbers}
"""The variant that a coded picture's compression ID is of."""


def _dnxhd(name: str) -> Variant:
    lines, _, rate = name.partition("-")
    progressive = len(_IDS[name]) == 1
    because = _ST_296 if lines == "720" else f"DNxHD at {rate} Mb/s is progressive"
    return Variant(
        options={"b": f"{rate.rstrip('x')}M"},
        reported=f"DNXHD {name}",
        tag="AVdn",
        raster=_LOW if lines == "720" else _HIGH,
        pixel_formats=_10_BITS if rate.endswith("x") else _8_BITS,
        scannings=ONLY_PROGRESSIVE if progressive else tuple(Scanning),
        not_scanned=because if progressive else "",
    )


def _dnxhr(name: str, pixel_formats: tuple[str, ...]) -> Variant:
    return Variant(
        options={"profile": f"dnxhr_{name}"},
        reported=f"DNXHR {name.upper()}",
        tag="AVdh",
        pixel_formats=pixel_formats,
    )


DNXHD = {name: _dnxhd(name) for name in _IDS}
DNXHR = {
    "lb": _dnxhr("lb", _8_BITS),
    "sq": _dnxhr("sq", _8_BITS),
    "hq": _dnxhr("hq", _8_BITS),
    "hqx": _dnxhr("hqx", _10_BITS),
    "444": _dnxhr("444", ("yuv444p10le", "gbrp10le")),
}
