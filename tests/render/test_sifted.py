"""Film frames sifted out of what was rendered come back bit for bit, and keep the scan's numbers.

The pattern is taken from the plan of what was rendered; pictures are compared by the digests that
the ffmpeg program tells of them.
"""

from __future__ import annotations

import csv
import io
import subprocess
from itertools import groupby
from typing import TYPE_CHECKING

import av
import imageio_ffmpeg
import numpy as np
import pytest
from rendering import made, reported, retime

if TYPE_CHECKING:
    from pathlib import Path

COUNT = 40
MADE = {
    "repeats-18-in-24": ("18 fps", "rate: 24"),
    "repeats-20-in-25": ("20 fps", "rate: 25"),
    "repeats-16-in-30": ("16 fps", "rate: 30"),
    "woven-18-in-50": ("18 fps", "rate: 25, scanning: top-first"),
    "woven-20-in-60": ("20 fps", "rate: 29.97, scanning: bottom-first"),
    "woven-16-in-60": ("16 fps", "rate: 30, scanning: top-first"),
    "carried-2-3": ("24 fps", "rate: 29.97, scanning: top-first, pulldown: '2:3'"),
}


@pytest.fixture(scope="module")
def scan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A scan of coarse coloured blocks, every frame others, with fine noise over them."""
    path = tmp_path_factory.mktemp("scan") / "noise.mkv"
    noise = np.random.default_rng(7)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = 128, 96, "yuv420p"
        for _ in range(COUNT):
            blocks = np.kron(noise.integers(20, 225, (9, 8), np.uint8), np.ones((16, 16), np.uint8))
            codes = blocks + noise.integers(0, 8, blocks.shape, np.uint8)
            container.mux(stream.encode(av.VideoFrame.from_ndarray(codes, format="yuv420p")))
        container.mux(stream.encode(None))
    return path


def map_of(path: Path, scan: Path, reel: str, speed: str, deliverable: str) -> Path:
    path.write_text(
        "format: retime-map/1\nfilm: Noise\ngauge: 35mm\n"
        f"reels: [{{reel: 1, scan: '{scan}'{reel}}}]\n"
        f"versions: {{v: {{speed: {speed}}}}}\n"
        f"deliverables: {{d: {{version: v, profile: ffv1-master, {deliverable}}}}}\n"
    )
    return path


def rows(speed_map: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(retime("frames", speed_map, "d").result)))


def digests(path: Path) -> list[str]:
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", "-i", str(path)]
    command += ["-fps_mode", "passthrough", "-f", "framemd5", "-"]
    told = subprocess.run(command, capture_output=True, check=True, text=True).stdout
    return [line.rsplit(",", 1)[1].strip() for line in told.splitlines() if line[:1] != "#"]


def pattern(speed_map: Path, deliverable: str) -> str:
    """Return how what was planned is written as a baked cadence: its shortest cycle of runs."""
    listed = rows(speed_map)
    seen = [row["frame"] for row in listed]
    fields = listed[0]["field"] != ""
    runs = [sum(1 for _ in alike) for _, alike in groupby(seen)]
    cycle = next(
        size
        for size in range(1, len(runs))
        if all(run == runs[at % size] for at, run in enumerate(runs[:-1]))
    )
    text = ":".join(map(str, runs[:cycle]))
    if fields:
        order = "bottom" if "bottom-first" in deliverable else "top"
        text += f" fields {order}-first"
    return f"{text} from 0"


@pytest.mark.parametrize("name", MADE)
def test_what_was_rendered_gives_its_film_frames_back(
    name: str, scan: Path, tmp_path: Path
) -> None:
    speed, deliverable = MADE[name]
    before = map_of(tmp_path / "before.yaml", scan, "", speed, deliverable)
    transfer = made(before, tmp_path / "made")["d"]
    baked = f", cadence: '{pattern(before, deliverable)}'"
    after = map_of(tmp_path / "after.yaml", transfer, baked, "18 fps", "rate: 18")
    back = made(after, tmp_path / "back")["d"]

    assert digests(scan) == digests(back)
    checked = retime("check", after, "-o", tmp_path / "back")
    assert 0 == checked.code, checked.result


@pytest.mark.parametrize("name", MADE)
def test_what_is_detected_in_it_gives_them_back_too(name: str, scan: Path, tmp_path: Path) -> None:
    speed, deliverable = MADE[name]
    before = map_of(tmp_path / "before.yaml", scan, "", speed, deliverable)
    transfer = made(before, tmp_path / "made")["d"]
    found = retime("detect", transfer, "-o", tmp_path / "cadence.yaml")
    assert 0 == found.code, found.messages
    for number, baked in enumerate(("detect", "cadence.yaml")):
        after = map_of(
            tmp_path / f"after-{number}.yaml",
            transfer,
            f", cadence: {baked}",
            "18 fps",
            "rate: 18",
        )
        back = made(after, tmp_path / f"back-{number}")["d"]

        # Of the last film frame a single field can be left, which is no film frame.
        assert digests(scan)[: COUNT - 1] == digests(back)[: COUNT - 1]


def test_a_cadence_of_another_scan_is_told_at_its_line(scan: Path, tmp_path: Path) -> None:
    twenty = map_of(tmp_path / "before.yaml", scan, "", "20 fps", "rate: 24")
    transfer = made(twenty, tmp_path / "made")["d"]
    retime("detect", scan, "-o", tmp_path / "cadence.yaml")
    after = map_of(
        tmp_path / "after.yaml", transfer, ", cadence: cadence.yaml", "20 fps", "rate: 20"
    )

    done = retime("report", after)

    assert 2 == done.code
    assert f"{after}:4:" in done.messages
    assert "tells of pictures 0 to 39, and the reel has 0 to 47" in done.messages


def test_a_film_frame_is_named_by_the_scan_frame_in_which_it_begins(
    scan: Path, tmp_path: Path
) -> None:
    """20 in 24 shows the third of five twice (check: FFmpeg's fps filter, round near)."""
    twenty = map_of(tmp_path / "before.yaml", scan, "", "20 fps", "rate: 24")
    transfer = made(twenty, tmp_path / "made")["d"]
    baked = ", cadence: '1:1:2:1:1 from 0'"
    after = map_of(tmp_path / "after.yaml", transfer, baked, "20 fps", "rate: 20")

    told = [int(row["frame"]) for row in rows(after)]

    assert [0, 1, 2, 4, 5, 6, 7, 8, 10, 11] == told[:10]
    stretch = reported(after)["deliverables"][0]["stretches"][0]
    assert (told[0], told[-1]) == (stretch["first"], stretch["last"])


def test_shots_keep_the_scan_s_numbers(scan: Path, tmp_path: Path) -> None:
    twenty = map_of(tmp_path / "before.yaml", scan, "", "20 fps", "rate: 24")
    transfer = made(twenty, tmp_path / "made")["d"]
    after = map_of(
        tmp_path / "after.yaml", transfer, ", cadence: '1:1:2:1:1'", "20 fps", "rate: 20"
    )
    shots = "shots:\n- {reel: 1, first: 0, last: 5, shot: a}\n"
    shots += "- {reel: 1, first: 6, last: 47, shot: b}\n"
    after.write_text(after.read_text() + shots)

    told = [(int(row["frame"]), row["shot"]) for row in rows(after)]

    assert [(4, "a"), (5, "a"), (6, "b"), (7, "b")] == told[3:7]


def test_a_shot_of_repeats_alone_is_told_at_its_line(scan: Path, tmp_path: Path) -> None:
    twenty = map_of(tmp_path / "before.yaml", scan, "", "20 fps", "rate: 24")
    transfer = made(twenty, tmp_path / "made")["d"]
    after = map_of(
        tmp_path / "after.yaml", transfer, ", cadence: '1:1:2:1:1'", "20 fps", "rate: 20"
    )
    after.write_text(after.read_text() + "shots:\n- {reel: 1, first: 3, last: 3, shot: a}\n")

    done = retime("report", after)

    assert 2 == done.code
    assert f"{after}:8:3: no film frame begins in shot 1/a, scan frames 3 to 3" in done.messages


def test_a_film_frame_of_a_single_field_is_left_out_and_told(scan: Path, tmp_path: Path) -> None:
    """24 in 60 is 2:3 in fields; a cut in the transfer's middle parts a film frame's fields."""
    before = map_of(
        tmp_path / "before.yaml", scan, "", "24 fps", "rate: 29.97, scanning: top-first"
    )
    transfer = made(before, tmp_path / "made")["d"]
    # Fields 2 3 2 3: pictures 0 aa, 1 bb, 2 bc, 3 cd, 4 dd; without 3, c has no second field.
    cut = tmp_path / "cut.mkv"
    subprocess.run(
        [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(transfer), "-vf",
         "select='not(eq(n,23))',setfield=tff", "-fps_mode", "passthrough", "-c:v", "ffv1",
         "-flags", "+ilme+ildct", str(cut)],
        check=True,
    )  # fmt: skip
    after = map_of(tmp_path / "after.yaml", cut, ", cadence: detect", "24 fps", "rate: 24")

    done = retime("render", after, "-o", tmp_path)

    assert 0 == done.code, done.messages
    assert f"{after}:4:" in done.messages
    assert "single field" in done.messages
    (back,) = tmp_path.glob("*-d.mkv")
    assert set(digests(back)) < set(digests(scan))
    assert len(digests(back)) >= COUNT - 3


def test_what_was_detected_is_remembered_until_the_scan_changes(
    scan: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    twenty = map_of(tmp_path / "before.yaml", scan, "", "20 fps", "rate: 24")
    transfer = made(twenty, tmp_path / "made")["d"]
    after = map_of(tmp_path / "after.yaml", transfer, ", cadence: detect", "20 fps", "rate: 20")
    first = rows(after)
    (kept,) = (tmp_path / "cache" / "retime" / "cadences").iterdir()
    kept.write_text(kept.read_text().replace("1:1:2:1:1", "1:1:1:2:1"))
    misled = rows(after)
    with transfer.open("ab") as file:
        file.write(bytes(16))

    assert first != misled
    assert first == rows(after)


def test_a_cadence_file_of_another_transfer_of_the_same_length_is_refused(
    scan: Path, tmp_path: Path
) -> None:
    twenty = map_of(tmp_path / "before.yaml", scan, "", "20 fps", "rate: 24")
    transfer = made(twenty, tmp_path / "made")["d"]
    retime("detect", transfer, "-o", tmp_path / "cadence.yaml")
    with transfer.open("ab") as file:
        file.write(bytes(16))
    after = map_of(
        tmp_path / "after.yaml", transfer, ", cadence: cadence.yaml", "20 fps", "rate: 20"
    )

    done = retime("report", after)

    assert 2 == done.code
    assert f"{after}:4:" in done.messages
    assert "tells of another scan" in done.messages
