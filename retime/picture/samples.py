"""Samples of a picture in place: its planes as arrays to read and to write."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from msgspec import Struct

from retime.picture.formats import layout_of, plain_name

if TYPE_CHECKING:
    from av.video.plane import VideoPlane
    from numpy.typing import NDArray

__all__ = ["SampleForm", "Samples", "sample_form", "samples"]

Samples: TypeAlias = "NDArray[np.unsignedinteger]"

_BYTE = 8
# One plane or three, a sample a component; FFmpeg leaves the byte order away for 8 bits.
_PLANAR = re.compile(r"(gray|gbrp|yuv4[0-4]{2}p)(\d+(le|be))?")
# All components of a pixel in one plane, and how many, unused ones included.
_PACKED = re.compile(r"(?P<three>(rgb|bgr)(24|48le|48be))|(?P<four>0rgb|0bgr|rgb0|bgr0)")


class SampleForm(Struct, frozen=True, kw_only=True):
    """How a pixel format holds its samples: as ``kind``, so many for a pixel in each plane."""

    kind: np.dtype[np.unsignedinteger]
    per_pixel: int


def sample_form(pixel_format: str) -> SampleForm | None:
    """Return how a pixel format holds its samples.

    None unless they are whole numbers of 8 to 16 bits, each in bytes of its own and at their low
    end, and none of them is alpha.
    """
    name = plain_name(pixel_format)
    packed = _PACKED.fullmatch(name)
    if packed is None and _PLANAR.fullmatch(name) is None:
        return None
    per_pixel = 1 if packed is None else 3 if packed["three"] else 4
    if layout_of(name).bits <= _BYTE:
        return SampleForm(kind=np.dtype(np.uint8), per_pixel=per_pixel)
    kind = np.dtype(">u2" if name.endswith("be") else "<u2")
    return SampleForm(kind=kind, per_pixel=per_pixel)


def samples(plane: VideoPlane, form: SampleForm) -> Samples:
    """Return a plane's samples, shape (height, width x ``per_pixel``), without what pads a line."""
    lines = np.frombuffer(memoryview(plane), np.uint8).reshape(plane.height, plane.line_size)
    return lines.view(form.kind)[:, : plane.width * form.per_pixel]
