"""Film frames taken out by what was found are those that went in, bit for bit.

What went in and what comes out are read by the ffmpeg program, fields are put together here.
"""

from __future__ import annotations

import csv
import io
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from test_fields import PATTERNS, chain
from transfers import CODERS, clip, ffmpeg, found, make, shown_by

from retime.report.detected import rows, write_rows
from retime.signal.shown import film_frames
from retime.speedmap.sifting import Sifting

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from retime.detect.detection import Detection

pytest_plugins = ["made_once"]

FRAMES = 60
HEIGHT, WIDTH = 192, 256


def luma(path: Path) -> NDArray[np.uint8]:
    raw = ffmpeg("-i", path, "-pix_fmt", "gray", "-f", "rawvideo", "pipe:1")
    return np.frombuffer(raw, np.uint8).reshape(-1, HEIGHT, WIDTH)


def taken_out(path: Path, detection: Detection) -> list[NDArray[np.uint8]]:
    pictures = luma(path)
    made = []
    for frame in film_frames(detection.stretches):
        if frame.upper is None or frame.lower is None:
            continue
        picture = pictures[frame.upper].copy()
        picture[1::2] = pictures[frame.lower][1::2]
        made.append(picture)
    return made


@pytest.mark.parametrize(
    ("speed", "filters"),
    [
        ("20", "fps=24"),
        ("16", "fps=25"),
        *((PATTERNS[pattern], chain(pattern, "top")) for pattern in ("23", "2332", "334", "3444")),
        (PATTERNS["222222222223"], chain("222222222223", "bottom")),
    ],
)
def test_every_film_frame_comes_out_as_it_went_in(
    speed: str, filters: str, folder: Path, tmp_path: Path
) -> None:
    went_in = make(clip(folder, FRAMES), speed, "null", tmp_path / "in.mkv")
    transfer = tmp_path / "transfer.mkv"
    ffmpeg("-i", went_in, "-vf", f"setpts=N/({speed})/TB,{filters}", "-fps_mode", "passthrough",
           *CODERS["ffv1"], transfer)  # fmt: skip

    made = taken_out(transfer, found(transfer))

    wanted = luma(went_in)
    assert len(wanted) - len(made) in {0, 1}  # the last may have one field alone
    assert all(np.array_equal(one, other) for one, other in zip(made, wanted, strict=False))


def test_what_holds_film_frames_names_them_as_a_map_counts_them(folder: Path) -> None:
    """Names rise, and a woven frame's two pictures are told: what a map's sifting asks for."""
    transfer = make(
        clip(folder, FRAMES), "24", chain("23", "top"), folder / "named.mkv", CODERS["ffv1"]
    )
    held = [
        one for one in film_frames(found(transfer).stretches) if None not in (one.upper, one.lower)
    ]

    names = tuple(one.first for one in held)
    assert all(before < after for before, after in pairwise(names))
    assert Sifting(names=names, woven={}).names == names
    woven = [(one.upper, one.lower) for one in held if one.upper != one.lower]
    assert (3, 2) == woven[0]  # C of A B C D: its upper field is in the fourth picture


def test_every_picture_is_listed_with_what_it_shows(folder: Path) -> None:
    transfer = make(clip(folder, FRAMES), "24", chain("23", "top"), folder / "named.mkv")
    detection = found(transfer)
    listed = io.StringIO()
    write_rows(detection, listed)
    told = list(csv.DictReader(io.StringIO(listed.getvalue())))
    shown = shown_by(folder, FRAMES, "24", chain("23", "top"))

    fields = [int(row["film"]) for row in told]
    wanted = [film for pair in zip(shown.upper, shown.lower, strict=True) for film in pair]
    assert wanted == fields[: len(wanted)]
    assert ["1", "2"] * detection.frames == [row["field"] for row in told]
    first = {row.film: row.first for row in rows(detection)}
    assert all(shown.upper[at] == film or shown.lower[at] == film for film, at in first.items()
               if at < len(shown.upper))  # fmt: skip
