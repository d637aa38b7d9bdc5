"""Which pixel formats hold their samples so that they can be read and written in place.

``retime.picture.samples`` does that; here it is only told, which needs no arrays.
"""

from __future__ import annotations

import re

from retime.picture.formats import plain_name

__all__ = ["samples_per_pixel"]

# One plane or three, a sample a component; FFmpeg leaves the byte order away for 8 bits.
_PLANAR = re.compile(r"(gray|gbrp|yuv4[0-4]{2}p)((9|10|12|14|16)(le|be))?")
# All components of a pixel in one plane, and how many, unused ones included.
_PACKED = re.compile(r"(?P<three>(rgb|bgr)(24|48le|48be))|(?P<four>0rgb|0bgr|rgb0|bgr0)")


def samples_per_pixel(pixel_format: str) -> int | None:
    """Return how many samples a pixel has in each plane.

    None unless the samples are whole numbers of 8 to 16 bits, each in bytes of its own and at
    their low end, and none of them is alpha.
    """
    name = plain_name(pixel_format)
    if _PLANAR.fullmatch(name) is not None:
        return 1
    packed = _PACKED.fullmatch(name)
    if packed is None:
        return None
    return 3 if packed["three"] else 4
