"""A map joined with its profiles and scans: everything known once, every fault at its place."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from numbered import write_scan

from retime.edition.join import join
from retime.errors import CommandError, DocumentError
from retime.plan.timeline import Shows

if TYPE_CHECKING:
    from pathlib import Path

    from retime.edition.edition import Edition

MAP = """\
format: retime-map/1
film: The Ferry                     # invented
gauge: 35mm
reels:
  - {reel: 1, scan: one.mkv, frames: 40}
  - {reel: 2, scan: two.mkv, first: 4, last: 35, frames: 40}
versions:
  slow: {speed: 16 fps}
  timed: {runtime: "0:04"}
  alike: {runtime of: slow-24}
deliverables:
  slow-24: {version: slow, profile: ffv1-master, rate: 24}
  timed-25: {version: timed, profile: ffv1-master, rate: 25}
  alike-25: {version: alike, profile: ffv1-master, rate: 25}
"""
TWO = "two.mkv, first: 4, last: 35, frames: 40"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder with two scans of 40 frames, and a cache of its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    for name in ("one.mkv", "two.mkv"):
        write_scan(tmp_path / name, 40, "ffv1", "gray", {"level": "3", "g": "1"})
    return tmp_path


def joined(folder: Path, text: str = MAP, *wanted: str, scans_needed: bool = False) -> Edition:
    path = folder / "ferry.yaml"
    path.write_text(text)
    return join(path, wanted, scans_needed=scans_needed)


def faults(folder: Path, text: str, *, scans_needed: bool = False) -> list[str]:
    with pytest.raises(DocumentError) as refused:
        joined(folder, text, scans_needed=scans_needed)
    return [str(one).replace(f"{folder}/", "") for one in refused.value.findings]


def test_everything_that_a_map_owes_is_planned_in_its_order(folder: Path) -> None:
    edition = joined(folder)

    assert ["slow-24", "timed-25", "alike-25"] == [one.name for one in edition.makings]
    assert [(0, 39), (4, 35)] == [(scan.reel.first, scan.last) for scan in edition.scans]
    # 72 frames at 16 last 4.5 s, which are 108 output frames at 24.
    assert 108 == edition.makings[0].plan.outputs
    assert () == edition.warnings


def test_only_what_is_wanted_is_planned(folder: Path) -> None:
    edition = joined(folder, MAP, "timed-25")

    assert ["timed-25"] == [one.name for one in edition.makings]


def test_a_runtime_is_solved_for_exactly(folder: Path) -> None:
    """72 frames in 4 s last 1/18 s each; as long as slow-24, 4.5 s, they last 1/16 s."""
    edition = joined(folder)

    assert {"timed": Fraction(1, 18), "alike": Fraction(1, 16)} == dict(edition.solved)
    assert [100, 113] == [one.plan.outputs for one in edition.makings[1:]]  # 112.5, half up


def test_a_runtime_that_nothing_can_fill_is_told_at_its_version(folder: Path) -> None:
    shots = "shots:\n  - {reel: 1, first: 0, last: 39, shot: 1}\n"
    text = MAP.replace("versions:", f"{shots}versions:").replace(
        'timed: {runtime: "0:04"}', 'timed: {runtime: "0:04", shots: {1/1: 8 fps}}'
    )
    *_, line = faults(folder, text)

    assert line.startswith("ferry.yaml:11:20: no speed gives version 'timed' that runtime;")


def test_a_name_that_is_not_among_the_deliverables_is_told_with_the_nearest(folder: Path) -> None:
    with pytest.raises(CommandError, match=r"no deliverable 'slow-25'; did you mean"):
        joined(folder, MAP, "slow-25")


def test_a_scan_that_is_away_is_no_fault_where_its_frames_are_stated(folder: Path) -> None:
    (folder / "two.mkv").unlink()
    edition = joined(folder)

    assert [None, f"{folder / 'two.mkv'} is away"] == [scan.away for scan in edition.scans]
    assert [None, None, None] == [making.picture for making in edition.makings]
    assert 108 == edition.makings[0].plan.outputs


def test_a_scan_that_is_away_is_a_fault_where_it_is_needed_or_not_counted(folder: Path) -> None:
    (folder / "two.mkv").unlink()
    needed = faults(folder, MAP, scans_needed=True)
    uncounted = faults(folder, MAP.replace("last: 35, frames: 40", "last: 35"))

    assert ["ferry.yaml:6:21: two.mkv: is not there; the nearest name there is one.mkv"] == needed
    assert needed == uncounted


def test_a_count_that_is_stated_is_trusted_until_the_scan_is_rendered(folder: Path) -> None:
    edition = joined(folder, MAP.replace("last: 35, frames: 40", "last: 49, frames: 50"))

    assert [40, 50] == [scan.frames for scan in edition.scans]
    assert (40 + 46) * 24 // 16 == edition.makings[0].plan.outputs


def test_a_count_that_is_not_stated_is_the_scans(folder: Path) -> None:
    edition = joined(folder, MAP.replace(", frames: 40", ""))

    assert [40, 40] == [scan.frames for scan in edition.scans]


def test_a_frame_outside_a_counted_scan_is_a_fault(folder: Path) -> None:
    (line,) = faults(folder, MAP.replace("last: 35, frames: 40", "last: 40"))

    assert line.startswith("ferry.yaml:6:46: frame 40 is outside the scan, which holds 40 frames")


def test_faults_of_scans_rules_and_profiles_are_told_together(folder: Path) -> None:
    (folder / "two.mkv").write_bytes(b"")
    text = MAP.replace("version: slow,", "version: slwo,")
    lines = faults(folder, text)

    assert ["6:21", "12:22"] == [line.split(":", 1)[1].split(": ")[0] for line in lines]

    text = MAP.replace("two.mkv", "one.mkv").replace("ffv1-master, rate: 24", "ffv1, rate: 24")
    lines = faults(folder, text.replace("rate: 25}", "rate: 25, file: a}"))

    assert any("12:37: no profile is named 'ffv1'" in line for line in lines)
    assert any("have one" in line for line in lines)


def test_a_rate_is_never_guessed(folder: Path) -> None:
    text = MAP.replace("profile: ffv1-master, rate: 24", "profile: ffv1-master")
    (line,) = faults(folder, text)

    assert line.startswith("ferry.yaml:12:3: 'slow-24' states no rate, and ffv1-master takes sev")


def test_drop_frame_is_counted_where_the_rate_has_it_unless_the_map_says_no(folder: Path) -> None:
    """30000/1001 and 60000/1001 count drop-frame (SMPTE ST 12-1), other rates have none."""
    text = MAP.replace("rate: 24", "rate: 29.97").replace("rate: 25", "rate: 59.94", 1)
    plain = joined(folder, text)
    told = joined(folder, text.replace("rate: 29.97", "rate: 29.97, drop-frame: no"))

    assert [True, True, False] == [one.drop_frame for one in plain.makings]
    assert [False, True, False] == [one.drop_frame for one in told.makings]


@pytest.mark.parametrize(
    ("missing", "shows"), [("hold", Shows.STILL), ("black", Shows.BLACK), ("stop", None)]
)
def test_a_hole_in_a_sequence_stops_or_is_held_or_black(
    missing: str, shows: Shows | None, folder: Path
) -> None:
    write_scan(folder / "seq" / "%04d.tif", 10, "tiff", start_number=101)
    for number in (104, 105):
        (folder / "seq" / f"{number:04}.tif").unlink()
    text = MAP.replace(TWO, f"seq/%04d.tif, missing: {missing}")
    if shows is None:
        (line,) = faults(folder, text)

        assert line.startswith(
            "ferry.yaml:6:21: seq/%04d.tif: 2 files are missing, the first, 0104.tif, being frame 3"
        )
        return
    (hole,) = joined(folder, text).scans[1].holes()

    assert (3, 2, shows) == (hole.first, hole.count, hole.shows)


def test_a_hole_outside_the_picture_is_nobodys_business(folder: Path) -> None:
    write_scan(folder / "seq" / "%04d.tif", 10, "tiff")
    (folder / "seq" / "0001.tif").unlink()
    text = MAP.replace(TWO, "seq/%04d.tif, first: 2, frames: 10")

    assert 10 == joined(folder, text).scans[1].frames
