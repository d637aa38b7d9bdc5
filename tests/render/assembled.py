"""An assembled film of numbered scans and plates, and what its deliverables show.

Every picture that can be shown has a number of its own: the frames of both reels, of another
scan and of a logo, and the stills. ``wanted`` says which number, or black, every output frame or
field should show, as ``retime frames`` tells it; ``seen`` and ``seen_fields`` say which it does
show, as the ffmpeg program decodes it.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal, TypeAlias

import numpy as np
from numbered import SIZE, draw, encode_files, read, write_scan
from rendering import ffmpeg, listed, write_map

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = [
    "BLACK",
    "BY_HAND",
    "COPIED",
    "FILM",
    "HD_TAGS",
    "INTRA",
    "LOGO",
    "PLATES",
    "RASTER",
    "REELS",
    "SHOTS",
    "VERSIONS",
    "Shown",
    "a_film",
    "a_map",
    "input_of",
    "seen",
    "seen_fields",
    "shown_rows",
    "still",
    "wanted",
    "wanted_fields",
]

_LED = {"head", "tail"}
BLACK: Literal["black"] = "black"
Shown: TypeAlias = int | Literal["black"] | None
"""The number of a picture, black, or None for what is neither for certain."""

RASTER = (256, 144)  # FFmpeg's encoder of DNxHR takes nothing smaller than 256x120
INTRA = {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}
# H.273: BT.709 in primaries, transfer and matrix, and narrow range. RGB is made by it.
HD_TAGS = {"color_primaries": 1, "color_trc": 1, "colorspace": 1, "color_range": 1}

FILM = {"1": range(24), "2": range(1000, 1018), "other": range(2000, 2012)}
"""What the frames of the reels, and of the other scan, show."""
LOGO = range(3000, 3002)
STILLS = {
    "slate.png": ("png", "rgb24", 4000),
    "bridge.tif": ("tiff", "gray16le", 4001),
    "title.dpx": ("dpx", "gbrp10be", 4002),
    "end.jpg": ("mjpeg", "yuvj444p", 4003),
    "titles/1-1t.png": ("png", "gray", 4004),
    "titles/2-2t.tif": ("tiff", "rgb48le", 4005),
}
PLATES: dict[str, Shown] = {"bridge": 4001, "1t": 4002, "dark": BLACK}
"""What stands in the film under a name, an inset's or a replaced shot's."""

REELS = "  - {reel: 1, scan: 1.mkv}\n  - {reel: 2, scan: 2.mkv}"
SHOTS = """\
  - {reel: 1, first: 0, last: 5, shot: 1}
  - {reel: 1, first: 6, last: 9, shot: 1t, kind: title}
  - {reel: 1, first: 10, last: 14, shot: 3}
  - {reel: 1, first: 15, last: 23, shot: 4}
  - {reel: 2, first: 0, last: 5, shot: 1}
  - {reel: 2, first: 6, last: 9, shot: 2t, kind: title}
  - {reel: 2, first: 10, last: 17, shot: 3}"""
_PUT_IN = """\
    omit: [1/3]
    insert:
      - {after: 1/3, still: bridge.tif, for: 0.3 s, name: bridge}
      - {before: 2/1, scan: other.mkv, first: 3, last: 8}
      - {after: 2/1, black: 0.2 s, name: dark}"""
VERSIONS = f"""\
  plain: {{speed: 20 fps}}
  all:
    speed: 20 fps
    shots: {{2/1: 16 fps, 2/2t: {{for: 0.6 s, loop: 3}}}}
    order: [1, 2/3, 2/1-2/2t]
{_PUT_IN}
      - {{after: 2/2t, play: 1/4}}
    replace: {{1/1t: title.dpx}}
  forward:
    speed: 20 fps
    titles: {{at least: 0.6 s, loop: 4}}
{_PUT_IN}
    replace: {{1/1t: {{still: title.dpx, for: 0.4 s}}}}
  brief:
    speed: 20 fps
    shots: {{2/2t: {{for: 0.3 s, loop: 3}}}}
    order: [2/2t, 1/1t]
    omit: [1/1, 1/3-2/1, 2/3]
    insert:
      - {{after: 2/2t, still: bridge.tif, for: 0.1 s, name: bridge}}
      - {{before: 1/1t, scan: other.mkv, first: 3, last: 4}}
      - {{after: 1/1t, black: 0.1 s, name: dark}}
    replace: {{1/1t: {{still: title.dpx, for: 0.1 s}}}}
  remade: {{speed: 20 fps, replace: titles}}
  at-24:
    speed: 24 fps
    shots: {{2/2t: {{for: 0.375 s, loop: 3}}}}
    order: [1, 2/3, 2/1-2/2t]
    omit: [1/3]
    insert:
      - {{after: 1/3, still: bridge.tif, for: 0.5 s, name: bridge}}
      - {{before: 2/1, scan: other.mkv, first: 3, last: 8}}
      - {{after: 2/1, black: 0.125 s, name: dark}}
      - {{after: 2/2t, play: 1/4}}
    replace: {{1/1t: title.dpx}}"""
BY_HAND = [
    *range(6),
    *[4002] * 4,
    *[4001] * 12,
    *range(15, 24),
    *range(1010, 1018),
    *range(2003, 2009),
    *range(1000, 1006),
    *[BLACK] * 3,
    *(1006, 1007, 1008, 1007, 1006, 1007, 1008, 1008, 1009),
    *range(15, 24),
]
"""What version ``at-24`` shows at 24 frames a second, written by hand."""
COPIED = """\
  cut:
    speed: 20 fps
    titles: {at least: 0.6 s, loop: 4}
    order: [2/3, 1, 2/1-2/2t, 1/4]
    omit: [1/3]
    insert: [{after: 2/1, play: 1/1}, {before: 1/1, scan: other.mkv, first: 3, last: 8}]
  shorter:
    speed: 18 fps
    omit: [1/3, 2/1]"""
"""Versions that show nothing but film frames."""


def a_film(
    folder: Path,
    size: tuple[int, int] = RASTER,
    pixel_format: str = "yuv422p10le",
    tags: Mapping[str, object] = HD_TAGS,
) -> Path:
    """Write both reels, the other scan, the logo and the stills into a folder."""
    for name, numbers in (*FILM.items(), ("logo", LOGO)):
        path = folder / f"{name}.mkv"
        write_scan(path, numbers, "ffv1", pixel_format, INTRA, size, attributes=tags)
    for name, (codec, of_still, number) in STILLS.items():
        still(folder / name, codec, of_still, number, size)
    return folder


def still(
    path: Path, codec: str, pixel_format: str, number: int, size: tuple[int, int] = RASTER
) -> Path:
    """Write a numbered picture into a file of its own."""
    path.parent.mkdir(exist_ok=True)
    options = {"qmin": "1", "qmax": "1"} if codec == "mjpeg" else None
    (data,) = encode_files([draw(number, *size, pixel_format)], codec, options)
    path.write_bytes(data)
    return path


def a_map(film: Path, folder: Path, owed: str, versions: str = VERSIONS) -> Path:
    """Write a map of a film that lies in another folder, and links to the film's files."""
    for one in film.iterdir():
        (folder / one.name).symlink_to(one)
    return write_map(folder, REELS, owed, versions, SHOTS)


def shown_rows(
    speed_map: Path,
    name: str,
    leaders: Iterable[Shown] = (),
    plates: Mapping[str, Shown] = PLATES,
) -> list[tuple[dict[str, str], Shown]]:
    """Return the rows of ``retime frames``, and the number of what each shows.

    ``leaders`` are what the output frames of head and tail show, and ``plates`` what stands in
    the film, by name.
    """
    rows = listed(speed_map, name)
    outputs = dict.fromkeys(row["output"] for row in rows if row["kind"] in _LED)
    led = dict(zip(outputs, leaders, strict=True))
    return [(row, _shows(row, led, plates)) for row in rows]


def _shows(row: dict[str, str], led: Mapping[str, Shown], plates: Mapping[str, Shown]) -> Shown:
    if row["kind"] in _LED:
        return led[row["output"]]
    return FILM[row["reel"]][int(row["frame"])] if row["frame"] else plates[row["shot"]]


def wanted(
    speed_map: Path,
    name: str,
    leaders: Iterable[Shown] = (),
    plates: Mapping[str, Shown] = PLATES,
) -> list[Shown]:
    """Return what every output frame should show; see ``shown_rows``."""
    return [shown for _, shown in shown_rows(speed_map, name, leaders, plates)]


def wanted_fields(speed_map: Path, name: str, leaders: Iterable[Shown] = ()) -> list[Shown]:
    """Return what every field should show; see ``shown_rows``."""
    rows = shown_rows(speed_map, name, leaders)
    return [shown for row, shown in rows for _ in range(1 if row["field"] else 2)]


def seen(path: Path, chain: str = "") -> list[Shown]:
    """Return what a file's pictures show, after a chain of the ffmpeg program's filters."""
    return [_shown(picture) for picture in _pictures(path, chain)]


def seen_fields(path: Path, *, flagged: bool = False) -> list[Shown]:
    """Return what fields show in the order of time, as flags claim it."""
    return seen(path, "repeatfields,separatefields" if flagged else "separatefields")


def _pictures(path: Path, chain: str) -> Iterable[NDArray[np.uint8]]:
    width, height = SIZE
    filters = f"scale={width}:{height}:flags=area"
    done = ffmpeg(
        *("-i", input_of(path), "-map", "0:v:0", "-fps_mode", "passthrough"),
        *("-vf", f"{chain},{filters}" if chain else filters),
        *("-pix_fmt", "rgb24", "-f", "rawvideo", "-"),
    )
    return np.frombuffer(done.stdout, np.uint8).reshape(-1, height, width, 3)


def input_of(path: Path) -> Path:
    """Return what the ffmpeg program is given for a movie, or a folder of numbered files."""
    if not path.is_dir():
        return path
    first = min(one for one in path.iterdir() if one.suffix != ".json")
    return path / re.sub(r"\.0000000(\.\w+)$", r".%07d\1", first.name)


def _shown(picture: NDArray[np.uint8]) -> Shown:
    """Return what a picture shows that has no colour anywhere, but for what coding brings."""
    colour = picture.max(axis=2).astype(int) - picture.min(axis=2)
    if colour.max() > 40 or colour.mean() > 4:
        return None
    return BLACK if picture.max() <= 3 else read(picture[..., 1])
