"""Delivered excerpts are cut out of the real plan, and show what the page is told they show.

Files are decoded by the ffmpeg program, which shares nothing with what encoded them.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

import av
import numpy as np
import pytest
from looked_at import decoded, expanded, made, program
from numbered import SIZE, read_with_program, write_scan

from retime.edition.join import join
from retime.report.listing import listing

if TYPE_CHECKING:
    from pathlib import Path
    from typing import Any

    from looked_at import Preview

MAP = """\
format: retime-map/1
film: Numbers
gauge: 35mm
transfer: bt1886
reels:
  - {reel: 1, scan: one.mkv, first: 2, last: 59}
  - {reel: 2, scan: two.mkv}
shots:
  - {reel: 1, first: 2, last: 13, shot: 1, kind: title}
  - {reel: 1, first: 14, last: 39, shot: 2}
  - {reel: 1, first: 40, last: 59, shot: 3}
  - {reel: 2, first: 0, last: 39, shot: 1}
versions:
  slow:
    speed: 18 fps
    titles: {speed: 20 fps, at least: 2 s}
    shots: {2/1: 16 fps -> 20 fps}
  quick:
    speed: 22 fps
    shots: {2/1: {at least: 3 s, loop: 6}}
  last: {speed: 20 fps, omit: [1/2]}
deliverables:
  slow-24: {version: slow, profile: h264-viewing, rate: 24}
  slow-25: {version: slow, profile: h264-viewing, rate: 25, phase: per-shot}
  slow-30: {version: slow, profile: h264-viewing, rate: 30, method: blend, window: 1/2}
  quick-2398: {version: quick, profile: h264-viewing, rate: 23.976}
  quick-25: {version: quick, profile: h264-viewing, rate: 25, conform-at: 24, head: {black: 1 s}}
  quick-30: {version: quick, profile: h264-viewing, rate: 30}
  last-woven: {version: last, profile: ffv1-master, rate: 30, scanning: top-first}
  slow-24-again: {version: slow, profile: h264-viewing, rate: 24, phase: per-shot}
"""
EXCERPTS = {"e1": ("1", 2), "e2": ("1", 20), "e3": ("2", 0)}
"""The excerpts that are asked for: reel, and first film frame."""


@pytest.fixture(scope="module")
def speed_map(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("film")
    write_scan(folder / "one.mkv", 60)
    write_scan(folder / "two.mkv", range(1000, 1040))
    path = folder / "numbers.yaml"
    path.write_text(MAP, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def preview(speed_map: Path, tmp_path_factory: pytest.TempPathFactory) -> Preview:
    to = tmp_path_factory.mktemp("made") / "look"
    return made(speed_map, to=to, shots="1/1", frames="1/20-45,2/0-39", seconds=4)


def shown(speed_map: Path, deliverable: str, output: int, frames: int) -> list[dict[int, Fraction]]:
    """Return what ``retime frames`` says that output frames show, with its weights."""
    (making,) = join(speed_map, [deliverable]).makings
    told: list[dict[int, Fraction]] = [{} for _ in range(frames)]
    for row in listing(making):
        if output <= row.output < output + frames:
            told[row.output - output][int(row.frame)] = Fraction(row.weight)
    return told


def of_the_map(preview: Preview) -> list[Any]:
    return [one for one in preview.values["delivered"] if one["deliverable"]]


def test_the_page_is_told_all_that_its_data_promises(preview: Preview) -> None:
    told = preview.values

    assert "retime-preview/1" == told["format"]
    assert {
        "film", "source", "from_map", "map_sha256", "gauge", "frames_per_foot", "frames",
        "speeds", "rates", "versions", "excerpts", "delivered", "flashes",
    } == set(told) - {"format"}  # fmt: skip
    for one in told["excerpts"]:
        assert {
            "key", "title", "name", "reel", "shot", "kind", "first", "place", "frames", "folder",
            "width", "height", "why", "speeds",
        } == set(one)  # fmt: skip
    for one in told["delivered"]:
        assert {
            "excerpt", "version", "speed", "rate", "method", "file", "frames", "cadence", "nearest",
        } < set(one)  # fmt: skip
        assert ("shows" in one) != ("mixes" in one)
    # 58 frames of picture in reel 1, 40 in reel 2: the map's own figures.
    assert (98, "16", "35mm") == (told["frames"], told["frames_per_foot"], told["gauge"])


def test_what_is_delivered_is_what_retime_frames_lists_there(
    preview: Preview, speed_map: Path
) -> None:
    seen = set()
    for one in of_the_map(preview):
        first = EXCERPTS[one["excerpt"]][1]
        told = shown(speed_map, one["deliverable"], one["output_first"], one["frames"])
        if one["method"] == "repeat":
            mine = [{first + frame: Fraction(1)} for frame in expanded(one["shows"])]
        else:
            mine = [{first + k: Fraction(part) for k, part in mix} for mix in one["mixes"]]

        assert told == mine, one["file"]
        seen.add(one["deliverable"])
    assert {"slow-24", "slow-25", "slow-30", "quick-2398", "quick-25", "quick-30"} == seen


def test_nothing_else_of_the_deliverable_shows_the_excerpt(
    preview: Preview, speed_map: Path
) -> None:
    one = preview.delivered(excerpt="e2", deliverable="slow-24")
    around = shown(speed_map, "slow-24", one["output_first"] - 1, one["frames"] + 2)

    assert {19: 1} == around[0]
    assert {46: 1} == around[-1]


def test_the_ffmpeg_program_reads_what_shows_says(preview: Preview) -> None:
    for one in preview.values["delivered"]:
        reel, first = EXCERPTS[one["excerpt"]]
        numbers = read_with_program(preview.folder / one["file"])
        assert one["frames"] == len(numbers), one["file"]
        if one["method"] == "repeat":
            base = first + (1000 if reel == "2" else 0)
            assert [base + frame for frame in expanded(one["shows"])] == numbers, one["file"]


def test_a_version_that_leaves_a_shot_out_shows_the_rest_of_an_excerpt(preview: Preview) -> None:
    one = preview.delivered(excerpt="e2", version="last", rate="25")

    # Shot 2 ends with frame 39 of the reel: what is left are frames 40 to 45.
    assert [20, 25] == [one["shows"][0][0], one["shows"][-1][0]]
    assert {"slow": "18", "quick": "22", "last": "20"} == preview.values["excerpts"][1]["speeds"]


def test_a_rate_of_1000_1001_stands_in_for_its_nominal_one(preview: Preview) -> None:
    rates = {
        one["rate"]: one["deliverable"]
        for one in preview.values["delivered"]
        if one["version"] == "quick" and one["excerpt"] == "e1"
    }

    assert {"24000/1001": "quick-2398", "24": None, "25": "quick-25", "30": "quick-30"} == rates


def test_what_holds_two_film_frames_in_an_output_frame_is_planned_in_whole_ones(
    preview: Preview,
) -> None:
    one = preview.delivered(excerpt="e1", version="last", rate="30")

    assert one["deliverable"] is None
    assert "shows" in one


def test_a_loop_plays_back_and_forth(preview: Preview) -> None:
    shows = [k for k, _ in preview.delivered(excerpt="e3", version="quick", rate="30")["shows"]]

    assert any(after < before for before, after in pairwise(shows))


def test_a_ramp_tells_the_speeds_of_its_ends(preview: Preview) -> None:
    paces = preview.values["excerpts"][2]["speeds"]["slow"]

    # The map's own words: frame durations run from 1/16 to 1/20.
    assert {"from": "16", "to": "20"} == paces
    one = preview.delivered(excerpt="e3", version="slow", rate="24")
    assert (None, paces, None) == (one["speed"], one["speeds"], one["cadence"])


def test_versions_say_how_they_are_decided(preview: Preview) -> None:
    told = {one["name"]: (one["speed"], one["said"]) for one in preview.values["versions"]}

    assert {
        "slow": ("18", "18 fps, 1 shot apart, titles at 20 fps"),
        "quick": ("22", "22 fps, 1 shot apart"),
        "last": ("20", "20 fps"),
    } == told


def test_deliveries_are_h264_of_narrow_range_progressive_and_tagged(preview: Preview) -> None:
    for one in preview.values["delivered"]:
        path = preview.folder / one["file"]
        said = program("-i", path, "-f", "null", "-").stderr.decode()
        stream = next(line for line in said.splitlines() if "Video: h264" in line)
        rate = float(Fraction(one["rate"]))

        assert "yuv420p(tv, smpte170m/bt709/bt709, progressive)" in stream
        assert f"{SIZE[0]}x{SIZE[1]}" in stream
        assert round(rate, 2) == float(re.findall(r"([\d.]+) fps", stream)[0])


def test_no_picture_is_further_than_half_a_second_from_a_key_frame(preview: Preview) -> None:
    one = preview.delivered(excerpt="e3", version="slow", rate="25")
    with av.open(str(preview.folder / one["file"])) as container:
        keys = [packet.is_keyframe for packet in container.demux(video=0) if packet.size]
    gaps = [len(gap) for gap in "".join(map(str, map(int, keys))).split("1")]

    assert one["frames"] == len(keys)
    assert max(gaps) < 25 / 2 + 1


def test_bare_scans_run_through_every_speed_by_the_rule_of_repeat(tmp_path: Path) -> None:
    scan = write_scan(tmp_path / "bare.mkv", 120)
    preview = made(scan, to=tmp_path / "look", frames="70-99", speeds="16,18,22,30")

    assert 12 == len(preview.values["delivered"])
    for one in preview.values["delivered"]:
        speed, rate, start = Fraction(one["speed"]), Fraction(one["rate"]), one["output_first"]
        # Output frame j shows the film frame that the middle of its time falls in.
        rule = [int((Fraction(2 * j + 1, 2)) / rate * speed) for j in range(3 * 120)]
        assert rule[start - 1] < 70 <= rule[start]
        assert [70 + k for k in expanded(one["shows"])] == rule[start : start + one["frames"]]
        assert rule[start + one["frames"]] > 99


@pytest.mark.parametrize(
    ("speed", "rate", "cadence"),
    [
        # SMPTE and common practice: 20 in 24 is a repeat of every fifth frame, 16 in 24 1:2;
        # 24 in 30 every fourth frame twice. Turned to where the excerpt begins.
        ("20", "24", (5, 6)),
        ("16", "24", (2, 3)),
        ("24", "30", (4, 5)),
        ("20", "25", (4, 5)),
    ],
)
def test_a_cadence_is_told_as_the_excerpt_begins_it(
    speed: str, rate: str, cadence: tuple[int, int], tmp_path: Path
) -> None:
    scan = write_scan(tmp_path / "bare.mkv", 60)
    preview = made(scan, to=tmp_path / "look", frames="7-40", speeds=speed, rates=rate)
    (one,) = preview.values["delivered"]
    runs = [int(run) for run in one["cadence"].split(":")]

    assert cadence == (len(runs), sum(runs))
    assert runs == [times for _, times in one["shows"]][: len(runs)]


def test_more_deliveries_than_are_rendered_leave_speeds_out_and_say_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("retime.preview.deliveries.MOST_DELIVERED", 6)
    scan = write_scan(tmp_path / "bare.mkv", 30)
    preview = made(scan, to=tmp_path / "look", frames="0-9", speeds="16,18,20,22", rates="24,25,30")

    assert {"16", "20"} == {one["speed"] for one in preview.values["delivered"]}
    assert ["16", "18", "20", "22"] == preview.values["speeds"]
    assert any("left out: 18 fps, 22 fps" in line for line in preview.said)


def test_a_blend_is_a_mean_of_light(tmp_path: Path) -> None:
    """Half of white and half of black is 0.5 ** (1 / 2.4) of the signal: Rec. ITU-R BT.1886."""
    scan = tmp_path / "flicker.mkv"
    with av.open(str(scan), "w") as container:
        stream = container.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = 64, 64, "gray"
        for number in range(24):
            grey = np.full((64, 64), 255 * (number % 2), np.uint8)
            container.mux(stream.encode(av.VideoFrame.from_ndarray(grey, format="gray")))
        container.mux(stream.encode(None))
    preview = made(scan, to=tmp_path / "look", frames="4-15", speeds="24", rates="12", blend=True)
    one = preview.delivered(method="blend")
    # At 24 in 12 every output frame sees one black film frame and one white.
    assert all([["1/2"] * 2] == [[part for _, part in mix]] for mix in one["mixes"])

    picture = decoded(preview.folder / one["file"], 64, 64)
    assert abs(picture.astype(int) - round(255 * 0.5 ** (1 / 2.4))).max() <= 2
