"""Writing a scan or a logo: FFV1 in Matroska, every frame a key frame."""

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from demofilm.raster import HEIGHT, WIDTH

__all__ = ["HEADER_RATE", "write_scan"]

HEADER_RATE = 25  # what scanners write when nobody told them: on purpose no speed of this film
_GREY = 128
_BT709 = 1
_LIMITED = 1


def write_scan(path: Path, pictures: Iterable[NDArray[np.uint8]], rate: int = HEADER_RATE) -> int:
    """Write luma planes (480 by 640, code values 16 to 235) and return how many.

    `rate` is what the header says, in frames per second.
    """
    count = 0
    with av.open(str(path), "w", options={"fflags": "+bitexact"}) as container:
        stream = container.add_stream("ffv1", rate=Fraction(rate))
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, "yuv420p"
        stream.gop_size = 1
        coder = stream.codec_context
        coder.options = {"level": "3", "coder": "1", "context": "1", "slices": "4", "slicecrc": "1"}
        coder.color_primaries = coder.color_trc = coder.colorspace = _BT709
        coder.color_range = _LIMITED
        coder.sample_aspect_ratio = Fraction(1)
        for count, luma in enumerate(pictures, 1):
            container.mux(stream.encode(_frame(luma, count - 1, rate)))
        container.mux(stream.encode(None))
    return count


def _frame(luma: NDArray[np.uint8], number: int, rate: int) -> av.VideoFrame:
    chroma = np.full((HEIGHT // 2, WIDTH), _GREY, np.uint8)
    frame = av.VideoFrame.from_ndarray(np.vstack([luma, chroma]), format="yuv420p")
    frame.pts, frame.time_base = number, Fraction(1, rate)
    frame.color_primaries = frame.color_trc = frame.colorspace = _BT709
    frame.color_range = _LIMITED
    return frame
