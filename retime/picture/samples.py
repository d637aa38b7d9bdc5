"""Samples of a picture in place: its planes as arrays to read and to write."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from msgspec import Struct

from retime.picture.formats import layout_of, plain_name
from retime.picture.packing import samples_per_pixel

if TYPE_CHECKING:
    from av.video.plane import VideoPlane
    from numpy.typing import NDArray

__all__ = ["SampleForm", "Samples", "sample_form", "samples"]

Samples: TypeAlias = "NDArray[np.unsignedinteger]"

_BYTE = 8


class SampleForm(Struct, frozen=True, kw_only=True):
    """How a pixel format holds its samples: as ``kind``, so many for a pixel in each plane."""

    kind: np.dtype[np.unsignedinteger]
    per_pixel: int


def sample_form(pixel_format: str) -> SampleForm | None:
    """Return how a pixel format holds its samples.

    None unless they are whole numbers of 8 to 16 bits, each in bytes of its own and at their low
    end, and none of them is alpha.
    """
    per_pixel = samples_per_pixel(pixel_format)
    if per_pixel is None:
        return None
    name = plain_name(pixel_format)
    if layout_of(name).bits <= _BYTE:
        return SampleForm(kind=np.dtype(np.uint8), per_pixel=per_pixel)
    kind = np.dtype(">u2" if name.endswith("be") else "<u2")
    return SampleForm(kind=kind, per_pixel=per_pixel)


def samples(plane: VideoPlane, form: SampleForm) -> Samples:
    """Return a plane's samples, shape (height, width x ``per_pixel``), without what pads a line."""
    lines = np.frombuffer(memoryview(plane), np.uint8).reshape(plane.height, plane.line_size)
    return lines.view(form.kind)[:, : plane.width * form.per_pixel]
