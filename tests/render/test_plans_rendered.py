"""Per-shot phase, ramps, holds, holes, reels, drops and run changes come out as planned.

The laws of the plan are held against what stands in the files, and the report against the list.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
from numbered import write_scan
from rendering import (
    ffmpeg,
    listed,
    look,
    made,
    picture_hashes,
    reported,
    retime,
    shown,
    write_map,
)

if TYPE_CHECKING:
    from pathlib import Path

FFV1 = {"level": "3", "g": "1", "slices": "4"}
FRAMES = 30
SECOND_REEL = 1000  # what the second reel's first frame shows
SHOTS = """\
  - {reel: 1, first: 0, last: 6, shot: 1}
  - {reel: 1, first: 7, last: 9, shot: 2}
  - {reel: 1, first: 10, last: 14, shot: 3, kind: title}
  - {reel: 1, first: 15, last: 29, shot: 4}"""
TWO_REELS = """
  - {reel: 2, first: 0, last: 11, shot: 1}
  - {reel: 2, first: 12, last: 29, shot: 2}"""
REEL, REELS = (
    "  - {reel: 1, scan: 1.mkv}",
    "  - {reel: 1, scan: 1.mkv}\n  - {reel: 2, scan: 2.mkv}",
)


class Edition(NamedTuple):
    """A map's parts, and the keys of its deliverables besides version and profile."""

    version: str
    keys: str
    reels: str = REEL
    shots: str = SHOTS


EDITIONS = {
    "per-shot phase": Edition("speed: 20 fps", "rate: 24, phase: per-shot"),
    "a speed for a shot": Edition(
        "speed: 20 fps, shots: {1/2: 16 fps}", "rate: 25, phase: per-shot"
    ),
    "a ramp over shots": Edition("speed: 18 fps, shots: {1/1-1/4: 16 fps -> 22 fps}", "rate: 24"),
    "a ramp, per shot": Edition(
        "speed: 18 fps, shots: {1/4: 14 fps -> 23 fps}", "rate: 30, phase: per-shot"
    ),
    "a title held": Edition("speed: 18 fps, titles: {speed: 20 fps, at least: 1 s}", "rate: 24"),
    "a title sped up": Edition("speed: 18 fps, titles: {at most: 0.1 s}", "rate: 25"),
    "two reels": Edition("speed: 18 fps, reels: {2: 22 fps}", "rate: 24", REELS, SHOTS + TWO_REELS),
    "two reels, per shot": Edition(
        "speed: 18 fps, reels: {2: 22 fps}", "rate: 30, phase: per-shot", REELS, SHOTS + TWO_REELS
    ),
    "drops": Edition("speed: 40 fps", "rate: 25"),
    "drops, per shot": Edition("speed: 33 fps", "rate: 24, phase: per-shot"),
    "24 sold as 25": Edition("speed: 20 fps", "rate: 25, conform-at: 24"),
    "true speed at 23.976": Edition("speed: 20 fps", "rate: 23.976, conform-at: 23.976"),
    "unrepeated": Edition("speed: 18 fps", "rate: 18"),
    "a solved runtime": Edition("runtime: 1.9 s, titles: {speed: 20 fps}", "rate: 29.97"),
}
PROFILES = ("as-scanned", "ffv1-master", "h264-viewing", "tiff-sequence", "prores-mezzanine")


class Rendered(NamedTuple):
    """An edition made: its map, its files, the checksums of both reels' pictures, its rate."""

    speed_map: Path
    paths: dict[str, Path]
    scans: list[list[str]]
    rate: Fraction


@pytest.fixture(scope="module")
def scans(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a folder with two numbered reels, YUV that states its matrix, as RGB needs it."""
    folder = tmp_path_factory.mktemp("reels")
    for number, first in (("1", 0), ("2", SECOND_REEL)):
        numbers = range(first, first + FRAMES)
        tags = {"colorspace": 1, "color_primaries": 1, "color_trc": 1, "color_range": 1}
        path = folder / f"{number}.mkv"
        write_scan(path, numbers, "ffv1", "yuv422p10le", FFV1, attributes=tags)
    return folder


@pytest.fixture(scope="module", params=EDITIONS)
def rendered(
    request: pytest.FixtureRequest, scans: Path, tmp_path_factory: pytest.TempPathFactory
) -> Rendered:
    """Give one edition made to three profiles: a copy, and two that take turns."""
    edition = EDITIONS[request.param]
    number = list(EDITIONS).index(request.param)
    profiles = ["as-scanned", PROFILES[2 + number % 3]]
    folder = tmp_path_factory.mktemp("edition")
    for scan in scans.iterdir():
        (folder / scan.name).symlink_to(scan)
    deliverables = "\n".join(
        f"  {profile}: {{version: v, profile: {profile}, {edition.keys}}}" for profile in profiles
    )
    speed_map = write_map(
        folder, edition.reels, deliverables, f"  v: {{{edition.version}}}", edition.shots
    )
    paths = made(speed_map, folder / "out")
    hashes = [picture_hashes(scans / f"{reel}.mkv", "yuv422p10le") for reel in (1, 2)]
    told = {one["name"]: one for one in reported(speed_map)["deliverables"]}
    rate = Fraction(told["as-scanned"]["rate"])
    return Rendered(speed_map, dict(zip(profiles, paths.values(), strict=True)), hashes, rate)


def _numbers(rendered: Rendered, name: str) -> list[int]:
    """Return what the pictures should show, by ``retime frames``."""
    return [
        int(row["frame"]) + SECOND_REEL * (row["reel"] == "2")
        for row in listed(rendered.speed_map, name)
    ]


def test_every_output_frame_shows_what_frames_tells(rendered: Rendered) -> None:
    for name, path in rendered.paths.items():
        assert _numbers(rendered, name) == list(look(path).numbers), name


def test_a_copy_has_the_scans_very_samples_at_the_deliverables_times(rendered: Rendered) -> None:
    copy = rendered.paths["as-scanned"]
    rows = listed(rendered.speed_map, "as-scanned")
    wanted = [rendered.scans[int(row["reel"]) - 1][int(row["frame"])] for row in rows]

    seen = look(copy)

    assert wanted == picture_hashes(copy, "yuv422p10le")
    exact = [index / rendered.rate for index in range(len(rows))]
    late = [abs(told - true) for told, true in zip(seen.times, exact, strict=True)]
    assert max(late) < Fraction(1, 1000)


def test_the_map_never_runs_backwards(rendered: Rendered) -> None:
    numbers = _numbers(rendered, "as-scanned")

    assert sorted(numbers) == numbers


def test_every_film_frame_that_lasts_an_output_frame_is_shown(rendered: Rendered) -> None:
    told = _deliverable(rendered, "as-scanned")
    conform = Fraction(told["conform_at"])
    numbers = set(_numbers(rendered, "as-scanned"))
    for stretch in told["stretches"]:
        speed = stretch["speed"]
        ends = speed.values() if isinstance(speed, dict) else [speed or "0"]
        if max(map(Fraction, ends)) > conform:
            continue
        first = stretch["first"] + SECOND_REEL * (stretch["reel"] == "2")
        frames = range(first, first + stretch["last"] - stretch["first"] + 1)
        assert set(frames) <= numbers


def test_the_number_of_output_frames_is_true_runtime_times_conform_rate_rounded_half_up(
    rendered: Rendered,
) -> None:
    for name in rendered.paths:
        told = _deliverable(rendered, name)
        layout = Fraction(told["true_runtime"]["seconds"]) * Fraction(told["conform_at"])

        assert (layout + Fraction(1, 2)) // 1 == told["output_frames"]


def test_the_reports_totals_are_those_of_the_frame_list(rendered: Rendered) -> None:
    told = _deliverable(rendered, "as-scanned")
    rows = listed(rendered.speed_map, "as-scanned")
    shows = Counter((row["reel"], row["frame"]) for row in rows)

    assert len(rows) == told["output_frames"]
    assert told["source_frames"] - len(shows) == told["dropped"]
    assert len(rows) - len(shows) == told["repeated"] + told["held"]
    assert Fraction(told["runtime"]["seconds"]) == len(rows) / rendered.rate
    assert rendered.rate / Fraction(told["conform_at"]) == Fraction(told["run_change"])
    for reel in told["reels"]:
        places = [int(row["output"]) for row in rows if row["reel"] == reel["reel"]]
        assert (places[0], places[-1]) == (reel["output_first"], reel["output_last"])
    bounds = [(one["output_first"], one["output_last"]) for one in told["stretches"]]
    assert (0, len(rows) - 1) == (bounds[0][0], bounds[-1][1])
    assert [last + 1 for _, last in bounds[:-1]] == [first for first, _ in bounds[1:]]


def test_drift_stays_within_the_bound_of_the_phase(rendered: Rendered) -> None:
    told = _deliverable(rendered, "as-scanned")
    bound = Fraction(1, 2) if told["phase"] == "continuous" else Fraction(1)

    largest = Fraction(told["drift"]["max_frames"])

    assert largest <= bound
    assert told["phase"] == "continuous" or largest < bound


def _deliverable(rendered: Rendered, name: str) -> dict[str, Any]:
    (found,) = [one for one in reported(rendered.speed_map)["deliverables"] if one["name"] == name]
    assert isinstance(found, dict)
    return found


def test_a_held_title_shows_its_middle_frame_the_longest(scans: Path, tmp_path: Path) -> None:
    (tmp_path / "1.mkv").symlink_to(scans / "1.mkv")
    speed_map = write_map(
        tmp_path,
        REEL,
        "  a: {version: v, profile: as-scanned, rate: 24}",
        "  v: {speed: 24 fps, titles: {speed: 24 fps, at least: 1 s}}",
        SHOTS,
    )

    (copy,) = made(speed_map, tmp_path / "out").values()

    # The title is frames 10 to 14: the held one is floor((10 + 14)/2), 20 output frames of 24.
    title = [10, 11, *[12] * 20, 13, 14]
    assert [*range(10), *title, *range(15, 30)] == list(look(copy).numbers)


# Holes in numbered files


def _with_holes(folder: Path, missing: str, *holes: int) -> str:
    write_scan(folder / "scan" / "%06d.dpx", 12, "dpx", "gbrp10be", start_number=86400)
    for hole in holes:
        (folder / "scan" / f"{86400 + hole:06}.dpx").unlink()
    return f"  - {{reel: 1, scan: scan/%06d.dpx, missing: {missing}}}"


ALL = ("ffv1-master", "prores-mezzanine", "h264-viewing", "dpx-sequence", "tiff-sequence")


@pytest.mark.parametrize("rate", ["12", "24", "6"])
def test_a_hole_shows_the_frame_before_it_where_holes_are_held(rate: str, tmp_path: Path) -> None:
    reel = _with_holes(tmp_path, "hold", 3, 4, 5, 9)
    profiles = ("as-scanned", *ALL)
    deliverables = "\n".join(
        f"  {name}: {{version: v, profile: {name}, rate: {rate}}}" for name in profiles
    )
    speed_map = write_map(tmp_path, reel, deliverables, "  v: {speed: 12 fps}")
    # 12 in 12, each twice in 24; in 6, where output frame j has its centre on the start of
    # frame 2j + 1 and shows that.
    positions = [0, 1, 2, 2, 2, 2, 6, 7, 8, 8, 10, 11]
    wanted = {
        "12": positions,
        "24": [one for one in positions for _ in range(2)],
        "6": positions[1::2],
    }[rate]

    paths = made(speed_map, tmp_path / "out")

    assert len(profiles) == len(paths)
    for name, path in zip(profiles, paths.values(), strict=True):
        assert wanted == shown(speed_map, name)
        assert wanted == list(look(path).numbers), name


@pytest.mark.parametrize("phase", ["continuous", "per-shot"])
def test_a_hole_never_shows_another_shots_frame(phase: str, tmp_path: Path) -> None:
    reel = _with_holes(tmp_path, "hold", 1, 2, 5, 6).replace("missing", "first: 1, missing")
    shots = "  - {reel: 1, first: 1, last: 4, shot: 1}\n  - {reel: 1, first: 5, last: 11, shot: 2}"
    speed_map = write_map(
        tmp_path,
        reel,
        f"  copy: {{version: v, profile: as-scanned, rate: 12, phase: {phase}}}\n"
        f"  stream: {{version: v, profile: h264-viewing, rate: 12, phase: {phase}}}",
        "  v: {speed: 12 fps}",
        shots,
    )

    paths = made(speed_map, tmp_path / "out")

    for path in paths.values():
        # Where a shot, or the picture, begins with a hole, its first frame that is there shows.
        assert [3, 3, 3, 4, 7, 7, 7, 8, 9, 10, 11] == list(look(path).numbers)


@pytest.mark.parametrize("holes", [(3, 4, 5, 9), (10,)])
def test_a_hole_is_black_where_holes_are_black(holes: tuple[int, ...], tmp_path: Path) -> None:
    reel = _with_holes(tmp_path, "black", *holes)
    deliverables = "\n".join(f"  {name}: {{version: v, profile: {name}, rate: 24}}" for name in ALL)
    speed_map = write_map(tmp_path, reel, deliverables, "  v: {speed: 12 fps}")
    wanted = [None if one in holes else one for one in range(12) for _ in range(2)]

    paths = made(speed_map, tmp_path / "out")

    for name, path in zip(ALL, paths.values(), strict=True):
        assert wanted == shown(speed_map, name)
        assert wanted == list(look(path).numbers), name
        assert {True} == {_is_black(path, place) for place, one in enumerate(wanted) if one is None}
    counted = [one["held"] for one in reported(speed_map)["deliverables"]]
    assert [2 * len(holes)] * len(ALL) == counted


def _is_black(path: Path, place: int) -> bool:
    """Tell whether a picture is black throughout, as the second reader shows it in RGB."""
    source = path
    if path.is_dir():
        source = next(path.glob(f"*.{place:07}.*"))
        place = 0
    done = ffmpeg(
        *("-i", source, "-vf", f"select=eq(n\\,{place})", "-fps_mode", "passthrough"),
        *("-frames:v", "1", "-pix_fmt", "rgb24", "-f", "rawvideo", "-"),
    )
    return len(done.stdout) == 160 * 96 * 3 and max(done.stdout) <= 1


def test_a_hole_stops_the_work_where_nothing_is_said_of_holes(tmp_path: Path) -> None:
    reel = _with_holes(tmp_path, "stop", 3, 4)
    speed_map = write_map(
        tmp_path, reel, "  a: {version: v, profile: ffv1-master, rate: 24}", "  v: {speed: 12 fps}"
    )
    (tmp_path / "out").mkdir()

    done = retime("render", speed_map, "-o", tmp_path / "out")

    assert 2 == done.code
    assert f"{speed_map}:5:21: " in done.messages
    assert "files are missing" in done.messages
    assert [] == list((tmp_path / "out").iterdir())
