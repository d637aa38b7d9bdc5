"""A preview made of numbered pictures.

Each picture carries its number as bars of black and white, so that what stands on a canvas or on
the screen can be read back from pixels, whatever the page says of itself.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

import av
import numpy as np
from PIL import Image

from retime.preview.page import preview_page

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["numbered", "preview_folder", "read_number", "sample_values"]

BARS = 8
WIDE, HIGH = 160, 120


def numbered(number: int) -> np.ndarray[Any, np.dtype[np.uint8]]:
    """Return a picture with ``number`` in bars from left to right, the greatest first."""
    picture = np.full((HIGH, WIDE, 3), 90, np.uint8)
    width = WIDE // BARS
    for bar in range(BARS):
        bit = number >> (BARS - 1 - bar) & 1
        picture[HIGH // 4 : 3 * HIGH // 4, bar * width : (bar + 1) * width] = 235 * bit + 10
    return picture


def read_number(picture: Image.Image) -> int:
    """Return the number that a picture of any size carries."""
    grey = np.asarray(picture.convert("L"))
    row = grey[grey.shape[0] // 2]
    middles = [row[int((bar + 0.5) * len(row) / BARS)] for bar in range(BARS)]
    return sum(int(middle > 128) << (BARS - 1 - bar) for bar, middle in enumerate(middles))


def sample_values(**changed: Any) -> dict[str, Any]:
    """Return values of a page: an invented film of two excerpts, with versions and deliveries."""
    values: dict[str, Any] = {
        "format": "retime-preview/1",
        "film": "The Tidewatcher's Lamp",
        "source": "tidewatcher.yaml",
        "from_map": True,
        "map_sha256": None,
        "gauge": "35mm",
        "frames_per_foot": "16",
        "frames": 646,
        "speeds": ["16", "18", "20", "22", "24"],
        "rates": ["24", "25", "30"],
        "versions": [
            {"name": "restrained", "speed": None, "said": "20 fps; 22 fps", "runtime": "32"},
            {"name": "brisk", "speed": "24", "said": "24 fps", "runtime": "323/12"},
        ],
        "excerpts": [
            _excerpt("e1", "Reel 1, shot 4", 120, 48, "action"),
            _excerpt("e2", "Reel 2, shot 5", 30, 20, "title"),
        ],
        "delivered": [
            _delivered("restrained", "20", "24", "repeat"),
            _delivered("restrained", "20", "30", "repeat"),
            _delivered("restrained", "20", "24", "blend"),
        ],
        "flashes": {"found": None, "said": "It can be checked with retime check --flashes."},
    }  # fmt: skip
    return {**values, **changed}


LEADER = 12
"""How many frames of a scan come before its first of picture."""


def _excerpt(key: str, title: str, first: int, frames: int, kind: str) -> Any:
    return {
        "key": key,
        "title": title,
        "name": None,
        "reel": title[5],
        "shot": title[-1],
        "kind": kind,
        "first": first,
        "place": first - LEADER,
        "frames": frames,
        "folder": f"pictures/{key}",
        "width": WIDE,
        "height": HIGH,
        "why": "the busiest shot of its reel",
        "speeds": {"restrained": "20", "brisk": {"from": "18", "to": "24"}},
    }


def _delivered(version: str, speed: str, rate: str, method: str) -> dict[str, Any]:
    """Return a delivery of the first excerpt, its cadence from the definition of repeating."""
    step = Fraction(speed) / Fraction(rate)
    looks = [int(at * step) for at in range(int(48 / step))]
    shows = [[k, looks.count(k)] for k in dict.fromkeys(looks)]
    mixes = [[[k, "1/2"], [k + 1, "1/2"]] if at % 2 else [[k, "1"]] for at, k in enumerate(looks)]
    told = {"shows": shows} if method == "repeat" else {"mixes": mixes}
    return {
        "excerpt": "e1",
        "version": version,
        "speed": speed,
        "rate": rate,
        "method": method,
        "file": f"delivered/e1-{version}-{rate}-{method}.mp4",
        "frames": len(looks),
        "cadence": "1:1:1:1:2" if method == "repeat" else None,
        "nearest": None,
        **told,
    }


def preview_folder(folder: Path, values: dict[str, Any]) -> Path:
    """Write a preview with numbered pictures into a folder, and return its page."""
    for excerpt in values["excerpts"]:
        pictures = folder / excerpt["folder"]
        pictures.mkdir(parents=True, exist_ok=True)
        for k in range(excerpt["frames"]):
            path = pictures / f"{k:05d}.jpg"
            if not path.exists():  # excerpts may share a folder
                Image.fromarray(numbered(k)).save(path, quality=90)
    for one in values["delivered"]:
        _write_movie(folder / one["file"], one)
    page = folder / "index.html"
    page.write_text(preview_page(values), encoding="utf-8")
    return page


def _write_movie(path: Path, delivered: dict[str, Any]) -> None:
    """Write a movie whose pictures carry the number of the output frame."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with av.open(str(path), "w") as movie:
        stream = movie.add_stream("libx264", rate=Fraction(delivered["rate"]))
        stream.width, stream.height, stream.pix_fmt = WIDE, HIGH, "yuv420p"
        for at in range(delivered["frames"]):
            movie.mux(stream.encode(av.VideoFrame.from_ndarray(numbered(at), "rgb24")))
        movie.mux(stream.encode())
