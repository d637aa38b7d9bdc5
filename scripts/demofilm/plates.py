"""The stills of the German edition, and writing one: an 8-bit grey PNG."""

from collections.abc import Callable
from fractions import Fraction
from functools import partial
from pathlib import Path

import av
import numpy as np

from demofilm.archive import slate
from demofilm.german import TITLES, lost_scene_card, title
from demofilm.lost_scene import drawing
from demofilm.raster import Picture

__all__ = ["PLATES", "plate", "write_plate"]

PLATES: dict[str, Callable[[], Picture]] = {
    **{f"titles-de/{shot}.png": partial(title, shot) for shot in TITLES},
    "bridge-card-de.png": lost_scene_card,
    "bridge.png": drawing,
    "slate.png": slate,
}

_BT709 = 1  # so that a tone comes out as bright as in the scans
_FULL = 2


def plate(name: str) -> Picture:
    """Draw a plate by its file's name."""
    return PLATES[name]()


def write_plate(path: Path, picture: Picture) -> None:
    """Write tones from 0 to 1 as code values 0 to 255."""
    height, width = picture.shape
    coder = av.CodecContext.create("png", "w")
    coder.width, coder.height, coder.pix_fmt = width, height, "gray"
    coder.time_base, coder.sample_aspect_ratio = Fraction(1), Fraction(1)
    coder.options = {"compression_level": "9", "pred": "none"}  # the smallest for lettering
    grey = np.asarray(255 * np.clip(picture, 0, 1) + 0.5, np.uint8)
    frame = av.VideoFrame.from_ndarray(grey, format="gray")
    frame.color_primaries = frame.color_trc = _BT709
    frame.color_range = _FULL
    path.write_bytes(b"".join(bytes(p) for p in [*coder.encode(frame), *coder.encode(None)]))
