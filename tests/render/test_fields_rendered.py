"""Interlaced and blended deliverables of numbered scans, read back field by field.

The ffmpeg program's ``separatefields`` takes a picture's fields apart in the order that the
picture's own flag claims; ``telecine`` and ``detelecine`` are its makers and unmakers of 2:3
(FFmpeg filters manual).
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest
from numbered import SIZE, read, write_scan
from rendering import ffmpeg, listed, made, picture_hashes, reported, retime, write_map

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

FRAMES = 40
SHOTS = """  - {reel: 1, first: 0, last: 12, shot: 1}
  - {reel: 1, first: 13, last: 16, shot: 2}
  - {reel: 1, first: 17, last: 39, shot: 3}"""
VERSIONS = "  v: {speed: 18 fps, shots: {1/2: 22 fps}, titles: {speed: 16 fps}}"
CARRIED = {
    "fields-25": "rate: 25",
    "fields-30": "rate: 29.97, phase: per-shot",
    "frames-25": "rate: 25, cadence-in: frames",
    "pulldown": "rate: 29.97, pulldown: 2:3",
    "pulldown-32": "rate: 30, pulldown: 3:2",
}
PROFILES = ("ffv1-master", "prores-mezzanine")


def fields_of(path: Path) -> list[int | None]:
    """Return the numbers that a movie's fields show, in the order that its flags claim."""
    width, height = SIZE
    chain = f"separatefields,scale={width}:{height}:flags=area"
    raw = ffmpeg(
        *("-i", path, "-map", "0:v:0", "-fps_mode", "passthrough", "-vf", chain),
        *("-pix_fmt", "gray", "-f", "rawvideo", "-"),
    ).stdout
    return [read(one) for one in np.frombuffer(raw, np.uint8).reshape(-1, height, width)]


def planned_fields(speed_map: Path, name: str) -> list[int | None]:
    """Return which film frame each field shows, as ``retime frames`` tells it."""
    rows = listed(speed_map, name)
    return [int(row["frame"]) for row in rows for _ in range(1 if row["field"] else 2)]


def a_map(folder: Path, profile: str, order: str) -> Path:
    owed = "\n".join(
        f"  {name}: {{version: v, profile: {profile}, scanning: {order}, {how}}}"
        for name, how in CARRIED.items()
    )
    write_scan(folder / "scan.mkv", FRAMES, "ffv1", "yuv422p10le", {"level": "3", "g": "1"})
    return write_map(folder, "  - {reel: 1, scan: scan.mkv}", owed, VERSIONS, SHOTS)


@pytest.mark.parametrize("order", ["top-first", "bottom-first"])
@pytest.mark.parametrize("profile", PROFILES)
def test_every_field_shows_what_is_planned(profile: str, order: str, tmp_path: Path) -> None:
    speed_map = a_map(tmp_path, profile, order)
    paths = made(speed_map, tmp_path / "out")

    told = {one["name"]: one for one in reported(speed_map)["deliverables"]}
    for name in CARRIED:
        assert planned_fields(speed_map, name) == fields_of(paths[name]), name
        assert order == told[name]["scanning"]
        woven = "stream" if name != "frames-25" else "encode-once"
        assert woven == told[name]["route"]
        rows = listed(speed_map, name)
        assert ({""} if name == "frames-25" else {"1", "2"}) == {row["field"] for row in rows}


@pytest.mark.parametrize("order", ["top-first", "bottom-first"])
def test_frames_of_one_film_frame_are_bit_identical_to_it(order: str, tmp_path: Path) -> None:
    speed_map = a_map(tmp_path, "ffv1-master", order)
    path = made(speed_map, tmp_path / "out", "fields-25")["fields-25"]
    film = picture_hashes(tmp_path / "scan.mkv", "yuv422p10le")
    shown = planned_fields(speed_map, "fields-25")
    pictures = picture_hashes(path, "yuv422p10le")

    whole = [
        (picture, film[first])
        for picture, first, second in zip(pictures, shown[::2], shown[1::2], strict=True)
        if first == second and first is not None
    ]
    assert len(whole) > len(pictures) // 2
    assert all(picture == scan for picture, scan in whole)


@pytest.mark.parametrize(("pattern", "pulldown"), [("23", "2:3"), ("32", "3:2")])
def test_detelecine_gives_the_film_frames_back(pattern: str, pulldown: str, tmp_path: Path) -> None:
    write_scan(tmp_path / "scan.mkv", FRAMES, "ffv1", "yuv422p10le", {"level": "3", "g": "1"})
    owed = "  a: {version: v, profile: ffv1-master, scanning: top-first, rate: 29.97, pulldown: P}"
    speed_map = write_map(
        tmp_path,
        "  - {reel: 1, scan: scan.mkv}",
        owed.replace("P", pulldown),
        "  v: {speed: 24 fps}",
    )
    path = made(speed_map, tmp_path / "out")["a"]
    # Its pictures are its own buffer, written over while others still read it: hence the copy.
    chain = f"detelecine=pattern={pattern}:first_field=top,copy"
    done = ffmpeg("-i", path, "-vf", chain, "-fps_mode", "passthrough", "-f", "framemd5", "-")
    lines = [line for line in done.stdout.decode().splitlines() if not line.startswith("#")]
    back = [line.rsplit(",", 1)[1].strip() for line in lines]

    assert picture_hashes(tmp_path / "scan.mkv", "yuv422p10le") == back


def test_a_blend_of_a_numbered_scan_shows_film_frames_only_where_it_is_not_mixed(
    tmp_path: Path,
) -> None:
    write_scan(tmp_path / "scan.mkv", FRAMES, "ffv1", "gray", {"level": "3", "g": "1"})
    owed = "  a: {version: v, profile: ffv1-master, rate: 24, method: blend}"
    speed_map = write_map(tmp_path, "  - {reel: 1, scan: scan.mkv}", owed, shots=SHOTS)
    text = speed_map.read_text().replace("film: Numbers", "film: Numbers\ntransfer: bt1886")
    speed_map.write_text(text)
    path = made(speed_map, tmp_path / "out")["a"]
    hashes, film = picture_hashes(path, "gray"), picture_hashes(tmp_path / "scan.mkv", "gray")
    rows: dict[int, list[dict[str, str]]] = {}
    for row in listed(speed_map, "a"):
        rows.setdefault(int(row["output"]), []).append(row)

    assert len(rows) == len(hashes)
    for output, parts in rows.items():
        alone = [film[int(part["frame"])] for part in parts]
        assert (hashes[output] in alone) is (len(parts) == 1)
    assert any(len(parts) == 1 for parts in rows.values())
    told = reported(speed_map)["deliverables"][0]
    assert told["drift"] is None
    assert told["blended"] == sum(len(parts) > 1 for parts in rows.values())


def test_blended_pictures_are_the_means_that_are_listed(tmp_path: Path) -> None:
    """Hold a blend against a float64 computation: Rec. ITU-R BT.1886, L = V to the 2.4."""
    write_scan(tmp_path / "scan.mkv", FRAMES, "ffv1", "gray", {"level": "3", "g": "1"})
    owed = "  a: {version: v, profile: ffv1-master, rate: 25, method: blend, window: 3/4}"
    speed_map = write_map(tmp_path, "  - {reel: 1, scan: scan.mkv}", owed, VERSIONS, SHOTS)
    text = speed_map.read_text().replace("film: Numbers", "film: Numbers\ntransfer: bt1886")
    speed_map.write_text(text)
    path = made(speed_map, tmp_path / "out")["a"]
    film, blended = _grey_pictures(tmp_path / "scan.mkv"), _grey_pictures(path)
    light = np.zeros_like(blended, dtype=np.float64)
    weights = [Fraction(0)] * len(blended)
    for row in listed(speed_map, "a"):
        output, weight = int(row["output"]), Fraction(row["weight"])
        light[output] += float(weight) * (film[int(row["frame"])] / 255.0) ** 2.4
        weights[output] += weight

    assert {Fraction(1)} == set(weights)
    assert np.abs(255 * light ** (1 / 2.4) - blended).max() <= 1


def _grey_pictures(path: Path) -> NDArray[np.uint8]:
    width, height = SIZE
    raw = ffmpeg("-i", path, "-fps_mode", "passthrough", "-pix_fmt", "gray", "-f", "rawvideo", "-")
    return np.frombuffer(raw.stdout, np.uint8).reshape(-1, height, width)


def test_lines_that_do_not_make_fields_of_420_are_refused_at_the_line(tmp_path: Path) -> None:
    write_scan(tmp_path / "scan.mkv", 4, "ffv1", "yuv420p", {"level": "3", "g": "1"}, (160, 98))
    owed = "  a: {version: v, profile: ffv1-master, rate: 25, scanning: top-first}"
    speed_map = write_map(tmp_path, "  - {reel: 1, scan: scan.mkv}", owed)
    done = retime("report", speed_map)

    assert 2 == done.code
    assert f"{speed_map}:9:28: " in done.messages
    assert "98" in done.messages


def test_idet_sees_the_order_that_is_claimed(tmp_path: Path) -> None:
    # A bar that moves by 8 samples a frame: combing tells the order of fields.
    moving = "color=black:s=160x96:r=20:d=4[b];color=white:s=40x50:r=20:d=4[w];"
    moving += "[b][w]overlay=x='mod(n*8,120)':y=20:shortest=1,format=yuv422p10le"
    scan = tmp_path / "scan.mkv"
    ffmpeg(
        *("-filter_complex", moving, "-c:v", "ffv1", "-level", "3", "-g", "1", "-y", scan),
    )
    owed = "\n".join(
        f"  {order}: {{version: v, profile: ffv1-master, scanning: {order}, rate: 30}}"
        for order in ("top-first", "bottom-first")
    )
    speed_map = write_map(tmp_path, "  - {reel: 1, scan: scan.mkv}", owed, "  v: {speed: 20 fps}")
    paths = made(speed_map, tmp_path / "out")
    for order, ours, other in (("top-first", 0, 1), ("bottom-first", 1, 0)):
        done = ffmpeg("-i", paths[order], "-vf", "idet", "-f", "null", "-", level="info")
        lines = done.stderr.decode().splitlines()
        line = [line for line in lines if "Multi frame detection" in line][-1]
        told = [int(word) for word in re.findall(r"(?<=FF:)\s*(\d+)", line)]
        assert told[ours] > 10
        assert told[other] == 0


@pytest.mark.parametrize("profile", ["dnxhd-mezzanine", "h264-viewing"])
def test_other_interlaced_profiles_show_what_is_planned(profile: str, tmp_path: Path) -> None:
    write_scan(tmp_path / "scan.mkv", 16, "ffv1", "yuv422p10le", {"level": "3", "g": "1"})
    owed = f"  a: {{version: v, profile: {profile}, scanning: top-first, rate: 25}}"
    speed_map = write_map(tmp_path, "  - {reel: 1, scan: scan.mkv}", owed, "  v: {speed: 20 fps}")
    path = made(speed_map, tmp_path / "out")["a"]

    assert planned_fields(speed_map, "a") == fields_of(path)


@pytest.mark.parametrize(
    ("rate", "label"), [("25", "10:00:00:00"), ("29.97", "00:59:59;28"), ("29.97", "01:00:00:00")]
)
@pytest.mark.parametrize("profile", ["prores-mezzanine", "ffv1-master"])
def test_the_first_frames_label_is_in_the_file_and_in_the_list(
    profile: str, rate: str, label: str, tmp_path: Path
) -> None:
    write_scan(tmp_path / "scan.mkv", 8, "ffv1", "yuv422p10le", {"level": "3", "g": "1"})
    owed = f"  a: {{version: v, profile: {profile}, rate: {rate}, timecode: {label}}}"
    speed_map = write_map(tmp_path, "  - {reel: 1, scan: scan.mkv}", owed)
    path = made(speed_map, tmp_path / "out")["a"]
    told = ffmpeg("-i", path, "-f", "null", "-", level="info").stderr.decode()
    labels = [row["timecode"] for row in listed(speed_map, "a")]

    assert f": {label}" in "\n".join(
        line for line in told.splitlines() if "imecode" in line.lower()
    )
    assert label == labels[0]
    if label == "00:59:59;28":  # drop-frame labels skip 00 and 01, but not in every tenth minute
        assert ["00:59:59;29", "01:00:00;00"] == labels[1:3]
    assert label == reported(speed_map)["deliverables"][0]["start_timecode"]
