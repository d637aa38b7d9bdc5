"""A frame that does not decode stops a render, or has something in its place and is told."""

from __future__ import annotations

from typing import TYPE_CHECKING

import av
import pytest
from numbered import SIZE, read_movie, write_scan
from rendering import listed, retime, write_map

if TYPE_CHECKING:
    from pathlib import Path

INTRA = {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}
FRAMES = 40
HURT = (7, 18, 19, 20)
WAYS = {
    "in one": (),
    "in pieces": ("--pieces", "9", "--workers", "1"),
    "begun anew at it": ("--pieces", "6", "--workers", "1"),
}
BLACK = "black"


@pytest.fixture(params=["1.mkv", "r1/%04d.tif"])
def film(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return a map of a scan of which some frames are damaged; checksums and headers tell."""
    name = str(request.param)
    if name == "1.mkv":
        write_scan(tmp_path / name, FRAMES, "ffv1", "gray", INTRA)
        _hurt_movie(tmp_path / name)
    else:
        write_scan(tmp_path / name, FRAMES, "tiff", "gray")
        for frame in HURT:
            path = tmp_path / (name % frame)
            path.write_bytes(path.read_bytes()[:60])
    (tmp_path / "out").mkdir()
    owed = "  x: {version: v, profile: ffv1-master, rate: 24, head: {black: 0.2 s}}"
    return write_map(tmp_path, f"  - {{reel: 1, scan: {name}}}", owed)


def _hurt_movie(path: Path) -> None:
    with av.open(str(path)) as container:
        packets = [bytes(packet) for packet in container.demux(video=0) if packet.size]
    data = bytearray(path.read_bytes())
    for frame in HURT:
        data[data.index(packets[frame]) + len(packets[frame]) // 2] ^= 0x5A
    path.write_bytes(data)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("means", ["hold", "black"])
def test_something_stands_in_the_place_of_damaged_frames_and_each_is_told(
    means: str, way: str, film: Path
) -> None:
    ran = retime("render", film, "-o", film.parent / "out", "--damaged", means, *WAYS[way])
    assert 0 == ran.code, ran.messages

    told = [line for line in ran.messages.splitlines() if "is damaged" in line]
    shown = "black is shown" if means == "black" else "the frame before it is held"
    assert len(HURT) == len(told)
    for frame, line in zip(HURT, told, strict=True):
        assert f": frame {frame} is damaged (" in line
        assert line.endswith(f": {shown}")
    assert _wanted(film, means) == _seen(film.parent / "out" / "Numbers-x.mkv")


def _wanted(film: Path, means: str) -> list[int | str]:
    """Return the number of what every output frame is to show, or black."""
    stands = {7: 6, 18: 17, 19: 17, 20: 17} if means == "hold" else dict.fromkeys(HURT, BLACK)
    frames = [int(row["frame"]) if row["frame"] else None for row in listed(film, "x")]
    return [BLACK if one is None else stands.get(one, one) for one in frames]


def _seen(path: Path) -> list[int | str | None]:
    with av.open(str(path)) as container:
        darkest = [
            int(frame.to_ndarray(format="gray").max()) < 20 for frame in container.decode(video=0)
        ]
    return [
        BLACK if dark else number for number, dark in zip(read_movie(path), darkest, strict=True)
    ]


@pytest.mark.parametrize("way", WAYS)
def test_unless_something_else_is_said_a_damaged_frame_stops_the_render(
    way: str, film: Path
) -> None:
    ran = retime("render", film, "-o", film.parent / "out", *WAYS[way])

    assert 2 == ran.code
    assert "frame 7 is damaged" in ran.messages
    assert [] == [one for one in (film.parent / "out").iterdir() if one.name[0] != "."]


def test_a_copy_takes_no_damaged_frame_whatever_is_said(film: Path) -> None:
    """There is nothing to show in its place: a copy has only what the scan has."""
    film.write_text(
        film.read_text().replace("ffv1-master", "as-scanned").replace(", head: {black: 0.2 s}", "")
    )
    ran = retime("render", film, "-o", film.parent / "out", "--damaged", "hold")

    assert 2 == ran.code
    assert "frame 7 is damaged" in ran.messages


def test_what_is_no_damage_of_one_frame_stops_the_render_whatever_is_said(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "1.mkv", FRAMES, "libx264", "yuv420p", {"g": "12"}, SIZE)
    data = bytearray(path.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 300] = bytes(300)
    path.write_bytes(data)
    owed = "  x: {version: v, profile: ffv1-master, rate: 24}"
    reels = f"  - {{reel: 1, scan: 1.mkv, frames: {FRAMES}}}"
    (tmp_path / "out").mkdir()
    speed_map = write_map(tmp_path, reels, owed)
    ran = retime("render", speed_map, "-o", tmp_path / "out", "--damaged", "black")

    assert 2 == ran.code
    assert "1.mkv: is damaged near frame" in ran.messages or "ends after" in ran.messages
