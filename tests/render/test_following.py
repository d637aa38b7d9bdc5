"""Sound, subtitles and chapters in finished files, as the ffmpeg program reads them."""

from __future__ import annotations

import json
import subprocess
from fractions import Fraction
from typing import TYPE_CHECKING

import imageio_ffmpeg
import numpy as np
import pytest
from numbered import write_scan
from rendering import made, reported, retime, write_map
from sounds import RATE, Clicks, decoded, found_click, write_wav

from retime.edition.join import join
from retime.follow.track import Track
from retime.follow.track_samples import blocks_of
from retime.plan.timemap import clock_of
from retime.speedmap.following import Pitch

if TYPE_CHECKING:
    from pathlib import Path

    from retime.edition.edition import Making

REELS = "  - {reel: 1, scan: one.mkv}\n  - {reel: 2, scan: two.mkv}"
SHOTS = """\
  - {reel: 1, first: 0, last: 39, shot: 1}
  - {reel: 1, first: 40, last: 59, shot: 2}
  - {reel: 1, first: 60, last: 99, shot: 3}
  - {reel: 2, first: 0, last: 79, shot: 1}"""
VERSIONS = """\
  even: {speed: 20 fps}
  uneven: {speed: 20 fps, reels: {2: 22 fps}, shots: {1/1: 18 fps, 1/3: 16 fps -> 24 fps}}
  assembled:
    speed: 20 fps
    reels: {2: 22 fps}
    omit: [1/2]
    insert: {after: 1/3, black: 1.3 s}"""


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with two reels, and a recording to a transfer at 18 with a click a frame.

    A click stands at the start of every tenth film frame, in the middle of whole samples.
    """
    folder = tmp_path_factory.mktemp("film")
    options = {"level": "3", "g": "1", "slicecrc": "1"}
    write_scan(folder / "one.mkv", 100, pix_fmt="yuv422p10le", options=options)
    write_scan(folder / "two.mkv", range(1000, 1080), pix_fmt="yuv422p10le", options=options)
    marks = [round(Fraction(frame, 18) * RATE) for frame in range(5, 180, 10)]
    clicks = Clicks(marks).read(0, 10 * RATE)
    write_wav(folder / "clicks.wav", np.rint(clicks * 32767).astype(np.int64))
    return folder


def _clicks(folder: Path, name: str) -> dict[tuple[str, int], Fraction]:
    """Return when the plan has each clicked film frame begin, on the deliverable's clock."""
    making = next(one for one in join(folder / "map.yaml").makings if one.name == name)
    begins = _begins(making)
    clicked = [("1", k) if k < 100 else ("2", k - 100) for k in range(5, 180, 10)]
    return {frame: begins[frame] for frame in clicked if frame in begins}


def _begins(making: Making) -> dict[tuple[str, int], Fraction]:
    """Return when the plan has each film frame begin, on the deliverable's clock."""
    timeline, clock = making.plan.timeline, clock_of(making.plan)
    begins = {}
    for stretch in timeline.stretches:
        reel = timeline.reels[timeline.units[stretch.unit].reel].name
        for slot in range(stretch.count if stretch.fresh else 0):
            begin = clock.at(stretch.start + stretch.pace.elapsed(slot))
            begins[reel, stretch.first + slot] = begin
    return begins


@pytest.mark.parametrize("version", ["even", "uneven", "assembled"])
@pytest.mark.parametrize("rate", ["23.976", "25", "30"])
def test_every_click_comes_with_its_film_frame(film: Path, version: str, rate: str) -> None:
    """Within a sample where pitch moves; a head of a second and an inset of 1.3 s counted."""
    sound = "sound: {file: clicks.wav, follows: 18 fps}"
    deliverables = f"  x: {{version: {version}, profile: prores-mezzanine, rate: {rate}, "
    deliverables += f"head: {{black: 1 s}}, {sound}}}"
    speed_map = write_map(film, REELS, deliverables, VERSIONS, SHOTS)
    path = made(speed_map, film / f"{version}-{rate}", "--force")["x"]
    track = decoded(path)
    told = reported(speed_map)["deliverables"][0]

    assert told["sound"][0]["samples"] == len(track)
    expected = _clicks(film, "x")
    assert len(expected) == (18 if version != "assembled" else 16)
    for begin in expected.values():
        assert abs(found_click(track[:, 0], begin * RATE) - begin * RATE) < 1


def test_pitch_kept_comes_with_its_film_frame_too(film: Path) -> None:
    deliverables = "  x: {version: uneven, profile: ffv1-master, rate: 24, "
    deliverables += "sound: {file: clicks.wav, follows: 18 fps, pitch: kept}}"
    speed_map = write_map(film, REELS, deliverables, VERSIONS, SHOTS)
    track = decoded(made(speed_map, film / "kept", "--force")["x"])

    for begin in _clicks(film, "x").values():
        assert abs(found_click(track[:, 0], begin * RATE) - begin * RATE) < 0.0015 * RATE


@pytest.mark.parametrize("transfer", [16, 18, 20, 24])
def test_pitch_kept_brings_clicks_on_every_film_frame_with_it(film: Path, transfer: int) -> None:
    """Within 5 ms, at constant and uneven speeds and a ramp, in each rate."""
    sound = f"sound: {{file: clicks.wav, follows: {transfer} fps}}"
    deliverables = "\n".join(
        f"  {version}-{rate}: {{version: {version}, profile: ffv1-master, rate: {rate}, {sound}}}"
        for version in ("even", "uneven")
        for rate in (24, 25, 30)
    )
    marks = [round(Fraction(frame, transfer) * RATE) for frame in range(180)]
    for making in join(write_map(film, REELS, deliverables, VERSIONS, SHOTS)).makings:
        track = Track(
            time_map=making.courses[f"{transfer} fps"],
            source_rate=RATE,
            source_samples=marks[-1] + RATE,
            rate=RATE,
            pitch=Pitch.KEPT,
        )
        sounded = np.concatenate(list(blocks_of(track, Clicks(marks, 1))))[:, 0]
        begins = [begin * RATE for begin in _begins(making).values()]
        assert len(begins) == len(marks)
        off = [abs(found_click(sounded, one, 900) - one) for one in begins[1:-1]]
        assert max(off) < 0.005 * RATE, making.name


def test_a_recording_made_to_another_deliverable_brings_its_run_along(film: Path) -> None:
    """Made to 20 fps at 24000/1001, 1001/1000 slower than true time, after a head of its own.

    Film frame n begins at n/20 x 1001/1000 s of the recording, and at n/20 s, after a head of a
    second, of the deliverable at 25.
    """
    frames = [7, 61, 133, 171]
    marks = [round(Fraction(frame * 1001, 20_000) * RATE) for frame in frames]
    clicks = Clicks(marks).read(0, 10 * RATE)
    write_wav(film / "made.wav", np.rint(clicks * 32767).astype(np.int64))
    deliverables = "  y: {version: even, profile: ffv1-master, rate: 23.976, head: {black: 2 s}}\n"
    deliverables += "  x: {version: even, profile: ffv1-master, rate: 25, head: {black: 1 s}, "
    deliverables += "sound: {file: made.wav, follows: y}}"
    versions = "  even: {speed: 20 fps}"
    speed_map = write_map(film, REELS, deliverables, versions, SHOTS)
    track = decoded(made(speed_map, film / "other", "x", "--force")["x"])

    for frame in frames:
        place = (1 + Fraction(frame, 20)) * RATE
        assert abs(found_click(track[:, 0], place) - place) < 1


@pytest.mark.parametrize(("codec", "bits"), [("pcm_s16le", 16), ("pcm_s24le", 24)])
@pytest.mark.parametrize("profile", ["prores-mezzanine", "ffv1-master"])
def test_pcm_that_nothing_changes_comes_out_to_the_bit(
    film: Path, tmp_path: Path, codec: str, bits: int, profile: str
) -> None:
    """At 24, 180 frames at 20 are 216 output frames: 9 s; the recording is as long."""
    noise = np.random.default_rng(1).integers(-(1 << (bits - 1)), 1 << (bits - 1), (9 * RATE, 2))
    write_wav(film / "noise.wav", noise << (0 if bits == 16 else 8), codec=codec)
    deliverables = (
        f"  x: {{version: even, profile: {profile}, rate: 24, sound: {{file: noise.wav}}}}"
    )
    speed_map = write_map(film, REELS, deliverables, VERSIONS, SHOTS)
    track = decoded(made(speed_map, tmp_path / "out")["x"])

    assert np.array_equal(noise / (1 << (bits - 1)), track)


def test_six_channels_stay_in_step_and_aac_begins_on_time(film: Path, tmp_path: Path) -> None:
    marks = [RATE, 4 * RATE, 7 * RATE]
    six = np.rint(Clicks(marks, 6).read(0, 9 * RATE) * 30000).astype(np.int64)
    write_wav(film / "six.wav", six, layout="5.1")
    deliverables = "  x: {version: even, profile: h264-viewing, rate: 24, sound: {file: six.wav}}\n"
    deliverables += "  y: {version: even, profile: ffv1-master, rate: 25, "
    deliverables += "sound: {file: six.wav, follows: 18 fps}}"
    speed_map = write_map(film, REELS, deliverables, VERSIONS, SHOTS)
    paths = made(speed_map, tmp_path / "out")
    viewed, kept = decoded(paths["x"], 6), decoded(paths["y"], 6)

    for mark in marks:
        assert abs(found_click(viewed[:, 0], Fraction(mark)) - mark) < 5
    for place in (Fraction(mark) * 18 / 20 for mark in marks):
        found = [found_click(kept[:, channel], place) for channel in range(6)]
        assert max(abs(one - float(place)) for one in found) < 1
        assert max(found) - min(found) < 0.05


def test_subtitles_and_chapters_stand_inside_and_beside(film: Path, tmp_path: Path) -> None:
    """Frames 9 to 27 of a transfer at 18 stand at 0.45 to 1.35 s at 20, after a head of 1 s."""
    (film / "en.srt").write_text(
        "1\n00:00:00,500 --> 00:00:01,500\nThe tide\n\n2\n00:00:02,000 --> 00:00:04,000\nThe lamp\n"
    )
    for profile, ending in (("h264-viewing", "mp4"), ("ffv1-master", "mkv")):
        deliverables = f"  x: {{version: even, profile: {profile}, rate: 24, head: {{black: 1 s}}, "
        deliverables += "timecode: 01:00:00:00, chapters: reels, "
        deliverables += "subtitles: {file: en.srt, follows: 18 fps, language: eng}}"
        speed_map = write_map(film, REELS, deliverables, VERSIONS, SHOTS)
        folder = tmp_path / ending
        path = made(speed_map, folder)["x"]
        beside = (folder / "Numbers-x.eng.srt").read_text()
        inside = _ffmpeg(path, "-map", "0:s:0", "-f", "srt", "-")

        assert "00:00:01,450 --> 00:00:02,350\nThe tide" in beside
        assert "00:00:02,800 --> 00:00:04,600\nThe lamp" in beside
        assert [beside.split("\n")[1], beside.split("\n")[5]] == [
            inside.split("\n")[1],
            inside.split("\n")[5],
        ]
        listed = (folder / "Numbers-x.chapters.txt").read_text().splitlines()
        assert "00:59:59:00\t0:00:00.000\tNumbers" == listed[0]
        assert "01:00:00:00\t0:00:01.000\tReel 1" == listed[1]
        assert "01:00:05:00\t0:00:06.000\tReel 2" == listed[2]
        told = _ffmpeg(path, "-f", "ffmetadata", "-")
        assert ["Numbers", "Reel 1", "Reel 2"] == [
            line.removeprefix("title=")
            for line in told.split("[CHAPTER]")[1:]
            for line in line.splitlines()
            if line.startswith("title=")
        ]


def _ffmpeg(path: Path, *what: str) -> str:
    program = imageio_ffmpeg.get_ffmpeg_exe()
    command = [program, "-nostdin", "-v", "error", "-i", str(path), *what]
    return subprocess.run(command, capture_output=True, check=True).stdout.decode()


def test_a_score_is_met_and_its_sound_lies_untouched(film: Path) -> None:
    """Shot 1/3 begins 4 s into the score and reel 2 6.5 s: both do, to the film frame."""
    versions = "  scored: {meet: {cues: [{at: 1/3, time: 0:04}, {at: 2/1, time: 0:06.5}], "
    versions += "between: 12..26 fps, end: 0:10}}"
    deliverables = "  x: {version: scored, profile: ffv1-master, rate: 24}"
    speed_map = write_map(film, REELS, deliverables, versions, SHOTS)
    done = retime("sheet", speed_map, "timing", "--format", "json")
    rows = {(row["reel"], row["shot"]): row["seconds"] for row in json.loads(done.result)["rows"]}

    assert ("4", "13/2") == (rows["1", "3"], rows["2", "1"])
    met = reported(speed_map)["deliverables"][0]["meet"]
    assert ["15", "16", "160/7"] == [one["speed"] for one in met]
    assert ["0", "0", "0"] == [one["late"] for one in met]


def test_a_part_has_the_sound_of_the_whole_there(film: Path, tmp_path: Path) -> None:
    deliverables = "  x: {version: uneven, profile: ffv1-master, rate: 24, "
    deliverables += "sound: {file: clicks.wav, follows: even}}"
    speed_map = write_map(film, REELS, deliverables, VERSIONS, SHOTS)
    whole = decoded(made(speed_map, tmp_path / "out")["x"])
    (tmp_path / "part").mkdir()
    done = retime("render", speed_map, "x", "-o", tmp_path / "part", "--reel", "2")
    assert 0 == done.code, done.messages
    part = decoded(next((tmp_path / "part").glob("*.mkv")))
    first = reported(speed_map)["deliverables"][0]["reels"][1]["output_first"]

    there = whole[first * 2000 : first * 2000 + len(part)]
    assert np.abs(there[1000:-1000] - part[1000:-1000]).max() < 1e-3


def test_a_table_of_film_frames_becomes_subtitles(film: Path, tmp_path: Path) -> None:
    """Frames 0 to 21 of reel 2 at 22 stand a second, after reel 1's 5 s at 20 and a head of 1 s."""
    (film / "frames.csv").write_text("reel,first,last,text\n2,0,21,The night\n")
    deliverables = "  x: {version: assembled, profile: ffv1-master, rate: 24, head: {black: 1 s}, "
    deliverables += "subtitles: {file: frames.csv}}"
    versions = VERSIONS.replace("    omit: [1/2]\n", "")
    speed_map = write_map(film, REELS, deliverables, versions, SHOTS)
    made(speed_map, tmp_path / "out")

    written = (tmp_path / "out" / "Numbers-x.srt").read_text()
    assert "00:00:07,300 --> 00:00:08,300\nThe night" in written
