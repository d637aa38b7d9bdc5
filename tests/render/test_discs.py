"""Streams for discs, rendered from numbered scans and read back field by field.

``repeatfields`` of the ffmpeg program (FFmpeg filters manual) shows fields as MPEG-2's repeat
flags ask for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from numbered import SIZE, read, write_scan
from rendering import ffmpeg, listed, made, reported, retime, write_map

from retime.findings import Finding, TextPlace

if TYPE_CHECKING:
    from pathlib import Path

OWED = {
    # speed, what the deliverable says: whether repeat flags carry it
    "sd-20-in-60": ("20", "profile: disc-sd-525, timecode: 00:59:59;00", True),
    "sd-22-in-60": ("22", "profile: disc-sd-525", True),
    "sd-24-pulldown": ("24", "profile: disc-sd-525-muxed, pulldown: 2:3", True),
    "sd-18-in-60": ("18", "profile: disc-sd-525", False),
    "sd-20-in-50": ("20", "profile: disc-sd-625", True),
    "sd-24-at-25": ("24", "profile: disc-sd-625-muxed, conform-at: 24", True),
    "sd-16-in-50": ("16", "profile: disc-sd-625", False),
    "hd-24": ("24", "profile: disc-hd-24, rate: 23.976", False),
    "hd-24-muxed": ("20", "profile: disc-hd-24-muxed, rate: 24", False),
    "hd-20-in-50": ("20", "profile: disc-hd-interlaced, rate: 25", False),
    "hd-pulldown": (
        "24",
        "profile: disc-hd-interlaced-muxed, rate: 29.97, pulldown: 2:3",
        False,
    ),
}
FILM = 40
REELS = """  - {reel: 1, scan: scan.mkv, last: 17}
  - {reel: 2, scan: scan.mkv, first: 18}"""


def fields_of(path: Path, *, flagged: bool, interlaced: bool) -> list[int | None]:
    """Return the numbers that a stream's fields show; of progressive frames, each twice."""
    width, height = SIZE
    apart = "separatefields," if interlaced else ""
    chain = f"{'repeatfields,' if flagged else ''}{apart}scale={width}:{height}:flags=area"
    raw = ffmpeg(
        *("-i", path, "-map", "0:v:0", "-fps_mode", "passthrough", "-vf", chain),
        *("-pix_fmt", "gray", "-f", "rawvideo", "-"),
        level="warning",
    )
    # The raw writer's own complaints are of the times that fields come at once.
    warnings = [line for line in raw.stderr.decode().splitlines() if "rawvideo @" not in line]
    assert [] == [line for line in warnings if "Last message repeated" not in line]
    shown = [read(one) for one in np.frombuffer(raw.stdout, np.uint8).reshape(-1, height, width)]
    return shown if interlaced else [number for number in shown for _ in (1, 2)]


@pytest.fixture(scope="module")
def discs(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Path]]:
    """Return a map of many discs' streams, and what was made of it."""
    folder = tmp_path_factory.mktemp("discs")
    write_scan(
        folder / "scan.mkv", FILM, "ffv1", "yuv422p10le", {"level": "3", "g": "1"}, (320, 240)
    )
    owed = "\n".join(
        f"  {name}: {{version: v{speed}, {how}}}" for name, (speed, how, _) in OWED.items()
    )
    speeds = sorted({speed for speed, _, _ in OWED.values()})
    versions = "\n".join(f"  v{speed}: {{speed: {speed} fps}}" for speed in speeds)
    speed_map = write_map(folder, REELS, owed, versions)
    return speed_map, made(speed_map, folder / "out")


@pytest.mark.parametrize("name", OWED)
def test_every_field_of_a_disc_shows_what_is_planned(
    name: str, discs: tuple[Path, dict[str, Path]]
) -> None:
    speed_map, paths = discs
    flagged = OWED[name][2]
    rows = listed(speed_map, name)
    planned = [int(row["frame"]) for row in rows for _ in range(1 if row["field"] else 2)]
    told = next(one for one in reported(speed_map)["deliverables"] if one["name"] == name)
    interlaced = told["scanning"] != "progressive"

    assert planned == fields_of(paths[name], flagged=flagged, interlaced=interlaced)
    assert flagged is ("repeat flags show it" in told["reason"])
    assert "stream" == told["route"]


def test_a_cadence_that_needs_a_four_is_woven_and_the_reason_is_told(
    discs: tuple[Path, dict[str, Path]],
) -> None:
    told = {one["name"]: one for one in reported(discs[0])["deliverables"]}

    assert "a film frame takes 4 fields" in told["sd-18-in-60"]["reason"]


def test_a_stream_that_breaks_a_limit_is_refused_at_the_line_that_asks_for_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # What breaks a limit is tested with the reader; here one is said to be broken.
    write_scan(tmp_path / "scan.mkv", 12, "ffv1", "yuv422p10le", {"level": "3", "g": "1"})
    owed = "  a: {version: v, profile: disc-sd-525}\n  b: {version: v, profile: disc-sd-525-muxed}"
    speed_map = write_map(tmp_path, "  - {reel: 1, scan: scan.mkv}", owed, "  v: {speed: 20 fps}")
    (tmp_path / "out").mkdir()

    def broken(path: Path, *_: object) -> list[Finding]:
        place = TextPlace(path=path)
        return [Finding(place=place, rule="disc-peak", text="a second holds 11 Mbit")]

    monkeypatch.setattr("retime.render.disc.disc_findings", broken)
    done = retime("render", speed_map, "-o", tmp_path / "out")

    assert 2 == done.code
    assert f"{speed_map}:9:28: a: a second holds 11 Mbit; " in done.messages
    assert [] == list((tmp_path / "out").iterdir())
