"""Assembled editions of numbered scans and plates, made in every profile and read back.

What is shown is held against ``retime frames``, and in some cases against a list written by hand.
The second reader is the ffmpeg program: ``separatefields`` takes fields apart in the order that a
picture's own flag claims, and ``repeatfields`` shows those that MPEG-2's repeat flags ask for
(FFmpeg filters manual).
"""

from __future__ import annotations

import json
import re
from fractions import Fraction
from itertools import cycle
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pytest
from assembled import (
    BLACK,
    BY_HAND,
    COPIED,
    FILM,
    HD_TAGS,
    INTRA,
    LOGO,
    REELS,
    SHOTS,
    VERSIONS,
    Shown,
    a_film,
    a_map,
    seen,
    seen_fields,
    shown_rows,
    wanted,
    wanted_fields,
)
from numbered import SIZE, draw_grey, write_scan
from rendering import (
    ffmpeg,
    listed,
    look,
    made,
    picture_hashes,
    reported,
    retime,
    write_map,
)

from retime.media.encoder import PictureEncoder

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from av.packet import Packet
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream
    from numpy.typing import NDArray


class Made(NamedTuple):
    """A map, what was made of its deliverables, and what the report tells of them, by name."""

    speed_map: Path
    paths: dict[str, Path]
    told: dict[str, dict[str, Any]]


LEADERS = (
    "head: [{black: 0.15 s}, {movie: logo.mkv}, {still: slate.png, for: 0.1 s}], "
    "tail: [{still: end.jpg, for: 0.1 s}, {movie: logo.mkv}]"
)


def leaders(rate: Fraction | int) -> list[Shown]:
    """Return what head and tail show at a rate: round(seconds x rate) output frames of each."""

    def times(seconds: str) -> int:
        return int(Fraction(seconds) * rate + Fraction(1, 2))

    head = [BLACK] * times("0.15") + [*LOGO] + [4000] * times("0.1")
    return [*head, *[4003] * times("0.1"), *LOGO]


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the folder of a film's numbered scans and plates."""
    return a_film(tmp_path_factory.mktemp("film"))


def _all_made(speed_map: Path, *arguments: str) -> Made:
    told = {one["name"]: one for one in reported(speed_map)["deliverables"]}
    return Made(speed_map, made(speed_map, speed_map.parent / "out", *arguments), told)


def _with_leaders(owed: dict[str, str]) -> str:
    return "\n".join(f"  {name}: {{{how}, {LEADERS}}}" for name, how in owed.items())


# Frames and fields

IN_FRAMES = {
    "ffv1-master": "version: all, profile: ffv1-master, rate: 24",
    "prores-mezzanine": "version: all, profile: prores-mezzanine, rate: 24",
    "h264-viewing": "version: all, profile: h264-viewing, rate: 29.97",
    "dnxhr-mezzanine": "version: all, profile: dnxhr-mezzanine, rate: 25",
    "dnxhd-mezzanine": "version: brief, profile: dnxhd-mezzanine, rate: 24",
    "dpx-sequence": "version: all, profile: dpx-sequence, rate: 24",
    "tiff-sequence": "version: all, profile: tiff-sequence, rate: 25, phase: per-shot",
    "jpeg2000-mov": "version: brief, profile: jpeg2000-mov, rate: 24",
    "jpeg2000-sequence": "version: brief, profile: jpeg2000-sequence, rate: 20",
    "disc-hd-24": "version: brief, profile: disc-hd-24, rate: 23.976",
    "disc-hd-24-muxed": "version: brief, profile: disc-hd-24-muxed, rate: 24",
    "forward": "version: forward, profile: ffv1-master, rate: 30",
    "as-shot": "version: plain, profile: ffv1-master, rate: 24",
}


@pytest.fixture(scope="module")
def in_frames(film: Path, tmp_path_factory: pytest.TempPathFactory) -> Made:
    """Give assemblies in every progressive profile, made in one go."""
    folder = tmp_path_factory.mktemp("frames")
    return _all_made(a_map(film, folder, _with_leaders(IN_FRAMES)))


@pytest.mark.parametrize("name", IN_FRAMES)
def test_every_output_frame_of_an_assembly_shows_what_is_planned(
    name: str, in_frames: Made
) -> None:
    rate = Fraction(in_frames.told[name]["rate"])

    assert wanted(in_frames.speed_map, name, leaders(rate)) == seen(in_frames.paths[name])


IN_FIELDS = {
    **{
        f"{profile}-{order}-{way}": (
            f"version: {version}, profile: {profile}, scanning: {order}, {how}"
        )
        for profile in ("ffv1-master", "prores-mezzanine", "h264-viewing")
        for order, way, version, how in (
            ("top-first", "25", "all", "rate: 25"),
            ("top-first", "pulldown", "at-24", "rate: 29.97, pulldown: 2:3"),
            ("bottom-first", "30", "all", "rate: 29.97, phase: per-shot"),
        )
    },
    "whole-frames": (
        "version: all, profile: ffv1-master, scanning: top-first, rate: 25, cadence-in: frames"
    ),
    "dnxhd-mezzanine": "version: brief, profile: dnxhd-mezzanine, scanning: top-first, rate: 25",
    "disc-hd": "version: brief, profile: disc-hd-interlaced, rate: 25",
    "disc-hd-muxed": (
        "version: brief, profile: disc-hd-interlaced-muxed, rate: 29.97, pulldown: 2:3"
    ),
    "disc-525-woven": "version: all, profile: disc-sd-525, scanning: bottom-first",
    "disc-625-woven": "version: all, profile: disc-sd-625-muxed",
}
FLAGGED = {
    "disc-525": "version: forward, profile: disc-sd-525",
    "disc-525-muxed": "version: at-24, profile: disc-sd-525-muxed, pulldown: 2:3",
    "disc-625": "version: brief, profile: disc-sd-625",
    "disc-625-muxed": "version: brief, profile: disc-sd-625-muxed",
}


@pytest.fixture(scope="module")
def in_fields(film: Path, tmp_path_factory: pytest.TempPathFactory) -> Made:
    """Give assemblies in every interlaced profile, made in one go."""
    folder = tmp_path_factory.mktemp("fields")
    return _all_made(a_map(film, folder, _with_leaders(IN_FIELDS | FLAGGED)))


@pytest.mark.parametrize("name", [*IN_FIELDS, *FLAGGED])
def test_every_field_of_an_assembly_shows_what_is_planned(name: str, in_fields: Made) -> None:
    told = in_fields.told[name]
    flagged = "repeat flags show it" in told["reason"]
    fields = seen_fields(in_fields.paths[name], flagged=flagged)

    assert (name in FLAGGED) is flagged
    assert wanted_fields(in_fields.speed_map, name, leaders(Fraction(told["rate"]))) == fields


# Checked


@pytest.mark.parametrize("which", ["in_frames", "in_fields"])
def test_checking_finds_nothing_wrong_with_assemblies_of_every_profile(
    which: str, request: pytest.FixtureRequest
) -> None:
    """Numbers are coarse blocks: what moves can be told, and heads and plates are known too."""
    one: Made = request.getfixturevalue(which)

    done = retime("check", one.speed_map, "-o", one.speed_map.parent / "out", "--format", "json")

    checked = json.loads(done.result)["deliverables"]
    assert {} == {told["name"]: told["findings"] for told in checked if told["findings"]}
    assert 0 == done.code, done.messages
    for told in checked:
        assert (told["planned"], 0) == (told["seen"], told["wrong"]), told["name"]
        assert told["moving_cannot_tell"] <= 0.02 * told["moving"], told["name"]


# Lists written by hand


@pytest.mark.parametrize(
    "profile", ["ffv1-master", "prores-mezzanine", "h264-viewing", "dpx-sequence"]
)
def test_at_the_rate_of_its_speed_an_assembly_is_the_list_written_by_hand(
    profile: str, film: Path, tmp_path: Path
) -> None:
    owed = f"  a: {{version: at-24, profile: {profile}, rate: 24, {LEADERS}}}"
    speed_map = a_map(film, tmp_path, owed)
    head = [BLACK] * 4 + [3000, 3001] + [4000] * 2
    shown = [*head, *BY_HAND, *[4003] * 2, 3000, 3001]

    assert shown == wanted(speed_map, "a", leaders(24))
    assert shown == seen(made(speed_map, tmp_path / "out")["a"])


@pytest.mark.parametrize("profile", ["prores-mezzanine", "disc-sd-525"])
def test_pulldown_gives_that_list_two_fields_and_three_in_turn(
    profile: str, film: Path, tmp_path: Path
) -> None:
    how = f"version: at-24, profile: {profile}, scanning: top-first, rate: 29.97, pulldown: 2:3"
    speed_map = a_map(film, tmp_path, f"  a: {{{how}, head: [{{black: 0.1 s}}]}}")
    shown = [one for one, times in zip(BY_HAND, cycle((2, 3)), strict=False) for _ in range(times)]
    path = made(speed_map, tmp_path / "out")["a"]

    assert [BLACK] * 6 + shown == seen_fields(path, flagged=profile == "disc-sd-525")


@pytest.mark.parametrize("profile", ["ffv1-master", "h264-viewing"])
def test_a_folder_of_titles_replaces_the_shots_that_its_files_are_named_by(
    profile: str, film: Path, tmp_path: Path
) -> None:
    owed = f"  a: {{version: remade, profile: {profile}, rate: 20}}"
    speed_map = a_map(film, tmp_path, owed)
    first, second = list(FILM["1"]), list(FILM["2"])
    first[6:10], second[6:10] = [4004] * 4, [4005] * 4

    assert [*first, *second] == seen(made(speed_map, tmp_path / "out")["a"])


# Blends


@pytest.fixture(scope="module")
def grey_film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the film in grey of 8 bits at full range."""
    return a_film(tmp_path_factory.mktemp("grey"), SIZE, "gray", {})


def _grey_map(film: Path, folder: Path, how: str) -> Path:
    owed = f"  a: {{version: all, profile: ffv1-master, method: blend, {how}, {LEADERS}}}"
    speed_map = a_map(film, folder, owed)
    text = speed_map.read_text().replace("film: Numbers", "film: Numbers\ntransfer: bt1886")
    speed_map.write_text(text)
    return speed_map


def _light_of(shown: Shown) -> NDArray[np.float64]:
    """Return the light of a numbered picture: Rec. ITU-R BT.1886, L = V to the 2.4."""
    codes = draw_grey(shown, *SIZE) if isinstance(shown, int) else np.zeros(SIZE[::-1], np.uint8)
    return np.asarray((codes / 255.0) ** 2.4)


@pytest.mark.parametrize(
    ("how", "rate"),
    [
        ("rate: 25, window: 3/4", Fraction(25)),
        ("rate: 24, phase: per-shot", Fraction(24)),
        ("rate: 29.97, scanning: top-first", Fraction(30000, 1001)),
        ("rate: 29.97, scanning: top-first, pulldown: 2:3", Fraction(30000, 1001)),
    ],
)
def test_blends_are_the_listed_means_and_never_reach_across_a_cut(
    how: str, rate: Fraction, grey_film: Path, tmp_path: Path
) -> None:
    speed_map = _grey_map(grey_film, tmp_path, how)
    pictures = _grey_pictures(made(speed_map, tmp_path / "out")["a"])
    rows = shown_rows(speed_map, "a", leaders(rate))
    light = [np.zeros_like(pictures[0], np.float64) for _ in pictures]
    weights = [[Fraction(0)] * len(pictures) for _ in (1, 2)]
    inside: dict[tuple[str, str], set[tuple[str, ...]]] = {}
    for row, shown in rows:
        output, weight = int(row["output"]), Fraction(row["weight"])
        for field in [int(row["field"]) - 1] if row["field"] else [0, 1]:
            light[output][field::2] += float(weight) * _light_of(shown)[field::2]
            weights[field][output] += weight
        told = row["kind"], row["reel"], row["shot"]
        inside.setdefault((row["output"], row["field"]), set()).add(told)

    assert [[Fraction(1)] * len(pictures)] * 2 == weights
    assert np.abs(255 * np.stack(light) ** (1 / 2.4) - pictures).max() <= 1
    assert {1} == {len(told) for told in inside.values()}
    assert any(row["weight"] != "1" for row, _ in rows)


def _grey_pictures(path: Path) -> NDArray[np.uint8]:
    width, height = SIZE
    raw = ffmpeg("-i", path, "-fps_mode", "passthrough", "-pix_fmt", "gray", "-f", "rawvideo", "-")
    return np.frombuffer(raw.stdout, np.uint8).reshape(-1, height, width)


# Copies


def _coded_hashes(path: Path) -> list[str]:
    """Return a checksum of every coded picture as it stands in a movie."""
    done = ffmpeg("-i", path, "-map", "0:v:0", "-c", "copy", "-f", "framehash", "-hash", "md5", "-")
    lines = done.stdout.decode().splitlines()
    return [line.rpartition(",")[2].strip() for line in lines if not line.startswith("#")]


@pytest.mark.parametrize("how", ["rate: 24", "rate: 25, phase: per-shot", "rate: 18"])
def test_order_omission_loops_replays_and_excerpts_keep_the_copy(
    how: str, film: Path, tmp_path: Path
) -> None:
    owed = "\n".join(
        f"  {version}-{profile}: {{version: {version}, profile: {profile}, {how}}}"
        for version in ("cut", "shorter")
        for profile in ("as-scanned", "ffv1-master")
    )
    copies = _all_made(a_map(film, tmp_path, owed, COPIED))
    scanned = {name: _coded_hashes(film / f"{name}.mkv") for name in FILM}

    for name, path in copies.paths.items():
        rows = listed(copies.speed_map, name)
        assert "copy" == copies.told[name]["route"]
        assert [scanned[row["reel"]][int(row["frame"])] for row in rows] == _coded_hashes(path)
        assert wanted(copies.speed_map, name) == seen(path)


def test_files_of_sequences_are_copied_byte_by_byte_in_the_order_of_an_assembly(
    tmp_path: Path,
) -> None:
    for name in ("1", "2"):
        scan = tmp_path / name / "%06d.tif"
        write_scan(scan, FILM[name], "tiff", "rgb48le", {"compression_algo": "deflate"})
    reels = "  - {reel: 1, scan: 1/%06d.tif}\n  - {reel: 2, scan: 2/%06d.tif}"
    owed = "\n".join(
        f"  {profile}: {{version: cut, profile: {profile}, rate: 24}}"
        for profile in ("as-scanned", "tiff-sequence")
    )
    versions = COPIED.replace(", {before: 1/1, scan: other.mkv, first: 3, last: 8}", "")
    copies = _all_made(write_map(tmp_path, reels, owed, versions, SHOTS))

    for name, path in copies.paths.items():
        files = sorted(one for one in path.iterdir() if one.suffix == ".tif")
        rows = listed(copies.speed_map, name)
        scanned = [tmp_path / row["reel"] / f"{int(row['frame']):06}.tif" for row in rows]
        assert "copy" == copies.told[name]["route"]
        assert [one.read_bytes() for one in scanned] == [one.read_bytes() for one in files]


def test_copied_prores_shows_what_is_planned(tmp_path: Path) -> None:
    for name, numbers in FILM.items():
        options = {"profile": "3", "vendor": "apl0"}
        scan = tmp_path / f"{name}.mov"
        write_scan(scan, numbers, "prores_ks", "yuv422p10le", options, attributes=HD_TAGS)
    owed = "\n".join(
        f"  {profile}: {{version: cut, profile: {profile}, rate: 25}}"
        for profile in ("as-scanned", "prores-mezzanine")
    )
    speed_map = write_map(
        tmp_path,
        REELS.replace(".mkv", ".mov"),
        owed,
        COPIED.replace(".mkv", ".mov"),
        SHOTS,
    )
    copies = _all_made(speed_map)
    scanned = {name: picture_hashes(tmp_path / f"{name}.mov", "yuv422p10le") for name in FILM}

    for name, path in copies.paths.items():
        rows = listed(speed_map, name)
        hashes = [scanned[row["reel"]][int(row["frame"])] for row in rows]
        assert "copy" == copies.told[name]["route"]
        assert hashes == picture_hashes(path, "yuv422p10le")


# One pass, and several


@pytest.fixture
def encoded(monkeypatch: pytest.MonkeyPatch) -> list[VideoFrame]:
    """Give the list that every picture is added to which an encoder is given."""
    given: list[VideoFrame] = []
    encode = PictureEncoder.encode

    def counting(self: PictureEncoder, frame: VideoFrame) -> Iterable[Packet[VideoStream]]:
        given.append(frame)
        return encode(self, frame)

    monkeypatch.setattr(PictureEncoder, "encode", counting)
    return given


def test_versions_that_run_forward_share_one_pass_and_each_picture_is_encoded_once(
    film: Path, tmp_path: Path, encoded: list[VideoFrame]
) -> None:
    plates = {
        "plain": {},
        "remade": {"1t": 4004, "2t": 4005},
        "omitting": {"1t": 4002, "bridge": 4001},
    }
    owed = "\n".join(
        f"  {name}: {{version: {name}, profile: prores-mezzanine, rate: {rate}}}"
        for name, rate in zip(plates, (24, 25, 30), strict=True)
    )
    omitting = "  omitting: {speed: 18 fps, omit: [1/3, 2/1], replace: {1/1t: title.dpx}, "
    omitting += "insert: {after: 1/3, still: bridge.tif, for: 0.3 s, name: bridge}}"
    speed_map = a_map(film, tmp_path, owed, f"{VERSIONS}\n{omitting}")
    (tmp_path / "out").mkdir()

    done = retime("render", speed_map, "-o", tmp_path / "out")
    shown = {name: wanted(speed_map, name, (), told) for name, told in plates.items()}

    assert "3 deliverables, in one pass over the scans: 42 pictures" in done.messages
    for name, numbers in shown.items():
        assert numbers == seen(tmp_path / "out" / f"Numbers-{name}.mov")
    assert len({one for numbers in shown.values() for one in numbers}) == len(encoded)


@pytest.mark.parametrize("profile", ["prores-mezzanine", "h264-viewing", "as-scanned"])
def test_versions_whose_orders_are_at_odds_are_made_in_a_pass_each(
    profile: str, film: Path, tmp_path: Path
) -> None:
    versions = f"{COPIED}\n  plain: {{speed: 20 fps}}"
    versions += "\n  back: {speed: 18 fps, order: [2, 1/3-1/4, 1/1-1/1t]}"
    owed = "\n".join(
        f"  {name}: {{version: {name}, profile: {profile}, rate: 24}}"
        for name in ("plain", "shorter", "back")
    )
    speed_map = a_map(film, tmp_path, owed, versions)
    (tmp_path / "out").mkdir()

    done = retime("render", speed_map, "-o", tmp_path / "out")

    assert "3 deliverables, in 2 passes: versions play the scans in orders" in done.messages
    for line in done.result.splitlines():
        path = tmp_path / "out" / line.rpartition("/")[2]
        assert wanted(speed_map, path.stem.rpartition("-")[2]) == seen(path)


def test_a_head_does_not_keep_a_deliverable_from_sharing_an_encoder(
    film: Path, tmp_path: Path, encoded: list[VideoFrame]
) -> None:
    how = "version: plain, profile: prores-mezzanine, rate: 24"
    owed = f"  led: {{{how}, head: [{{still: slate.png, for: 0.5 s}}]}}\n  bare: {{{how}}}"
    speed_map = a_map(film, tmp_path, owed)
    paths = made(speed_map, tmp_path / "out")

    assert 42 + 1 == len(encoded)
    assert [4000] * 12 == seen(paths["led"])[:12]
    assert _coded_hashes(paths["led"])[12:] == _coded_hashes(paths["bare"])


# Labels

LABELLED = {
    # rate, the film's first label, the file's first of a head of ten seconds, its output frames
    "ffv1-master": ("24", "01:00:00:00", "00:59:50:00", 240),
    "prores-mezzanine": ("25", "00:00:00:00", "23:59:50:00", 250),
    "h264-viewing": ("29.97", "01:00:00;00", "00:59:50;00", 300),
    # At 00:01:00 two labels are left out (SMPTE ST 12-1): 300 before 65 x 30 - 2 is 54 x 30 + 28.
    "dnxhr-mezzanine": ("29.97", "00:01:05;00", "00:00:54;28", 300),
}


@pytest.mark.parametrize("profile", LABELLED)
def test_a_head_runs_before_the_label_that_is_stated_for_the_film(
    profile: str, film: Path, tmp_path: Path
) -> None:
    rate, stated, first, frames = LABELLED[profile]
    how = f"version: brief, profile: {profile}, rate: {rate}, head: {{black: 10 s}}"
    owed = f"  film: {{{how}, timecode: {stated}}}\n"
    owed += f"  file: {{{how}, timecode: {stated}, timecode-at: file}}"
    speed_map = a_map(film, tmp_path, owed)
    paths = made(speed_map, tmp_path / "out")
    rows = {name: listed(speed_map, name) for name in paths}

    assert first == _label_in(paths["film"]) == rows["film"][0]["timecode"]
    assert stated == rows["film"][frames]["timecode"]
    assert stated == _label_in(paths["file"]) == rows["file"][0]["timecode"]
    assert [frames, frames] == [
        sum(row["kind"] == "head" for row in told) for told in rows.values()
    ]
    assert [BLACK] * frames + [1006] == seen(paths["film"])[: frames + 1]


def _label_in(path: Path) -> str:
    told = ffmpeg("-i", path, "-f", "null", "-", level="info").stderr.decode()
    found = re.search(r"timecode\s*: (\S+)", told, re.IGNORECASE)
    assert found, told
    return found[1]


def test_files_of_a_sequence_and_groups_of_a_disc_count_the_head_too(
    film: Path, tmp_path: Path
) -> None:
    head = "head: {still: slate.png, for: 1 s}"
    owed = f"""\
  dpx: {{version: brief, profile: dpx-sequence, rate: 25, timecode: 10:00:00:00, {head}}}
  flagged: {{version: brief, profile: disc-sd-525, timecode: 01:00:00;00, {head}}}
  woven: {{version: all, profile: disc-sd-625, timecode: 01:00:00:00, {head}}}"""
    speed_map = a_map(film, tmp_path, owed)
    paths = made(speed_map, tmp_path / "out")
    headers = [one.read_bytes() for one in sorted(paths["dpx"].glob("*.dpx"))]

    # SMPTE ST 268-1: the television header's time code is at byte 1920, two digits to a byte.
    assert ["09595900", "10000000"] == [headers[at][1920:1924].hex() for at in (0, 25)]
    assert "00:59:59;00" == _group_labels(paths["flagged"])[0]
    assert "00:59:59:00" == _group_labels(paths["woven"])[0]
    # The film's first frame begins a group, as a chapter can begin there.
    assert "01:00:00;00" in _group_labels(paths["flagged"])
    assert "01:00:00:00" in _group_labels(paths["woven"])


def _group_labels(path: Path) -> list[str]:
    told = ffmpeg("-i", path, "-vf", "showinfo", "-f", "null", "-", level="info").stderr.decode()
    return re.findall(r"GOP timecode: (\S+)", told)


# Framing

FRAMED = {
    # how the map frames a reel, and how its scan was made of upright pictures (FFmpeg filters)
    "upright": ("", "null"),
    "right": ("rotate: 90", "transpose=cclock"),
    "over": ("rotate: 180", "hflip,vflip"),
    "left": ("rotate: 270", "transpose=clock"),
    "mirrored": ("flip: horizontal", "hflip"),
    "upside": ("flip: vertical", "vflip"),
    "wide": ("area: '16,8,160,96'", "pad=200:120:16:8:white"),
    "all": (
        "area: '8,16,96,160', rotate: 90, flip: horizontal",
        "hflip,transpose=cclock,pad=120:200:8:16:white",
    ),
}


def _framed_film(folder: Path, pixel_format: str) -> str:
    """Write a reel for every way to lie, of three frames each, and return the map's lines."""
    lines = []
    for reel, (framing, chain) in enumerate(FRAMED.values(), 1):
        upright = folder / f"upright-{reel}.mkv"
        numbers = range(100 * reel, 100 * reel + 3)
        write_scan(upright, numbers, "ffv1", pixel_format, INTRA, attributes=HD_TAGS)
        ffmpeg(
            *("-i", upright, "-vf", chain, "-fps_mode", "passthrough", "-pix_fmt", pixel_format),
            *("-c:v", "ffv1", "-level", "3", "-g", "1", folder / f"{reel}.mkv"),
        )
        lines.append(f"  - {{reel: {reel}, scan: {reel}.mkv{framing and ', '}{framing}}}")
    return "\n".join(lines)


UPRIGHT = [
    number for reel in range(1, len(FRAMED) + 1) for number in range(100 * reel, 100 * reel + 3)
]


def test_framed_reels_are_bit_identical_to_upright_pictures(tmp_path: Path) -> None:
    reels = _framed_film(tmp_path, "yuv444p10le")
    speed_map = write_map(tmp_path, reels, "  a: {version: v, profile: ffv1-master, rate: 18}")
    path = made(speed_map, tmp_path / "out")["a"]
    upright = [
        one
        for reel in range(1, len(FRAMED) + 1)
        for one in picture_hashes(tmp_path / f"upright-{reel}.mkv", "yuv444p10le")
    ]

    assert UPRIGHT == list(look(path).numbers)
    assert upright == picture_hashes(path, "yuv444p10le")


@pytest.mark.parametrize("pixel_format", ["yuv422p10le", "gbrp10le"])
def test_framed_reels_stand_upright_in_one_raster_in_every_kind_of_profile(
    pixel_format: str, tmp_path: Path
) -> None:
    reels = _framed_film(tmp_path, pixel_format)
    owed = "\n".join(
        f"  {profile}: {{version: v, profile: {profile}, {how}}}"
        for profile, how in (
            ("ffv1-master", "rate: 18"),
            ("prores-mezzanine", "rate: 18"),
            ("h264-viewing", "rate: 18"),
            ("dpx-sequence", "rate: 18"),
            ("disc-sd-525", "scanning: top-first"),
        )
    )
    speed_map = write_map(tmp_path, reels, owed, "  v: {speed: 18 fps}")
    paths = made(speed_map, tmp_path / "out")

    disc = paths.pop("disc-sd-525")
    for name, path in paths.items():
        assert UPRIGHT == seen(path), name
        assert SIZE == look(path).raster
    rows = listed(speed_map, "disc-sd-525")
    fields = [100 * int(row["reel"]) + int(row["frame"]) for row in rows]
    assert fields == seen_fields(disc)


def test_the_sample_aspect_that_the_map_states_is_told_of_pictures_as_they_are_shown(
    tmp_path: Path,
) -> None:
    _framed_film(tmp_path, "yuv422p10le")
    reels = "  - {reel: 1, scan: 1.mkv, sample-aspect: '8:9'}\n"
    reels += "  - {reel: 2, scan: 2.mkv, rotate: 90, sample-aspect: '9:8'}"
    owed = "\n".join(
        f"  {profile}: {{version: v, profile: {profile}, rate: 18}}"
        for profile in ("ffv1-master", "prores-mezzanine", "h264-viewing")
    )
    speed_map = write_map(tmp_path, reels, owed)

    for name, path in made(speed_map, tmp_path / "out").items():
        assert Fraction(8, 9) == look(path).sample_aspect, name
        assert UPRIGHT[:6] == seen(path), name
