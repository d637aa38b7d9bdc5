"""Codes of one depth as those of another, by tables.

FFmpeg's scaler shifts codes where it is to make them deeper, which leaves the white of full ranges
short of white: 255 becomes 1020 of 1023. A table for every code keeps both ends, and is no slower.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from av.video.frame import VideoFrame

from retime.picture.samples import sample_form, samples

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.light.codes import CodeScale

__all__ = ["code_table", "tabled"]


def code_table(
    bits: int, scale: CodeScale, to_bits: int, to_scale: CodeScale
) -> NDArray[np.unsignedinteger]:
    """Return the code of ``to_bits``, 9 or more, for each code of ``bits``, rounded half up."""
    codes = to_scale.codes(scale.signals(np.arange(1 << bits)))
    return codes.clip(0, (1 << to_bits) - 1).astype("<u2")


def tabled(frame: VideoFrame, table: NDArray[np.unsignedinteger], pixel_format: str) -> VideoFrame:
    """Return a picture of a plane a component with every code of every plane looked up.

    ``pixel_format`` is that of the result: as many planes of the same size, in the table's depth.
    """
    made = VideoFrame(frame.width, frame.height, pixel_format)
    was, is_to_be = sample_form(frame.format.name), sample_form(pixel_format)
    if was is None or is_to_be is None:
        raise TypeError(frame.format.name, pixel_format)
    for source, target in zip(frame.planes, made.planes, strict=True):
        np.take(table, samples(source, was), out=samples(target, is_to_be), mode="clip")
    return made
