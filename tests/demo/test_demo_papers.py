"""The demo's map, list of shots, truth file and scans agree with what is drawn."""

import csv
from fractions import Fraction
from typing import Any

import av
import numpy as np
import pytest
import yaml
from demo_places import MEDIA
from demofilm.facts import shots_csv, truth_yaml
from demofilm.story import REELS, Reel, film_frame

BOTH_REELS = pytest.mark.parametrize("number", [0, 1])


def _document(name: str) -> dict[str, Any]:
    document: dict[str, Any] = yaml.safe_load((MEDIA / name).read_text(encoding="utf-8"))
    return document


def test_the_committed_papers_are_what_the_script_writes() -> None:
    assert shots_csv() == (MEDIA / "shots.csv").read_text(encoding="utf-8")
    assert truth_yaml() == (MEDIA / "truth.yaml").read_text(encoding="utf-8")


def test_the_map_states_the_scans_and_frames_that_are_drawn() -> None:
    drawn = [
        {"reel": int(r.reel), "scan": r.scan, "first": r.first, "last": r.last, "frames": r.frames}
        for r in REELS
    ]
    assert drawn == _document("tidewatcher.yaml")["reels"]


def test_shots_fill_each_reel_from_first_to_last_without_gap_or_overlap() -> None:
    with (MEDIA / "shots.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for reel in REELS:
        shots = [row for row in rows if row["reel"] == reel.reel]
        starts = [int(row["first"]) for row in shots] + [reel.last + 1]
        ends = [reel.first - 1] + [int(row["last"]) for row in shots]
        assert starts == [end + 1 for end in ends]


def test_the_cuts_in_the_truth_file_are_the_first_frames_of_later_shots() -> None:
    for reel, told in zip(REELS, _document("truth.yaml")["reels"], strict=True):
        assert [first for _, first, _ in reel.spans()][1:] == told["cuts"]


def test_the_restrained_version_runs_reels_and_ramp_as_they_were_taken() -> None:
    truth = _document("truth.yaml")
    version = _document("tidewatcher.yaml")["versions"]["restrained"]
    assert f"{truth['reels'][0]['taken_at']} fps" == version["speed"]
    assert f"{truth['reels'][1]['taken_at']} fps" == version["reels"][2]
    ramp = truth["ramp"]
    assert {ramp["shot"]: f"{ramp['first']} -> {ramp['last']}"} == version["shots"]


def test_the_dual_speed_edition_is_two_versions_in_24_25_and_30() -> None:
    every = _document("tidewatcher.yaml")["deliverables"].values()
    deliverables = [made for made in every if made["version"] != "german"]
    expected = [(version, rate) for version in ("brisk", "restrained") for rate in (24, 25, 30)]
    assert expected == sorted((made["version"], made["rate"]) for made in deliverables)


def test_titles_are_long_and_short_and_one_is_a_flash() -> None:
    lengths = [shot.frames for reel in REELS for shot in reel.shots if shot.kind == "title"]
    assert sum(2 <= frames <= 4 for frames in lengths) == 1
    assert max(lengths) >= 2 * sorted(lengths)[1]


@BOTH_REELS
def test_every_frame_of_a_scan_is_there_and_a_key_frame(number: int) -> None:
    with av.open(str(MEDIA / REELS[number].scan)) as scan:
        keys = [packet.is_keyframe for packet in scan.demux(video=0) if packet.size]
    assert [True] * REELS[number].frames == keys


@BOTH_REELS
def test_the_committed_scan_shows_what_the_script_draws_at_the_first_frames(number: int) -> None:
    """One code value of tolerance: another processor's sine may differ in its last bit."""
    first = REELS[number].first
    with av.open(str(MEDIA / REELS[number].scan)) as scan:
        pictures = [
            frame.to_ndarray()[:480]
            for frame, _ in zip(scan.decode(video=0), range(first + 1), strict=False)
        ]
    drawn = film_frame(number, first).astype(int)
    assert np.abs(drawn - pictures[first]).max() <= 1
    assert np.abs(drawn - pictures[first - 1]).mean() > 1


def test_the_scans_carry_a_header_rate_that_no_part_of_the_film_was_taken_at() -> None:
    with av.open(str(MEDIA / REELS[0].scan)) as scan:
        rate = scan.streams.video[0].average_rate
    assert Fraction(25) == rate
    assert 25 not in {reel.taken_at for reel in REELS}


def test_committed_media_stay_under_15_megabytes() -> None:
    assert sum(path.stat().st_size for path in MEDIA.iterdir()) < 15_000_000


def test_a_reel_holds_its_leaders_before_first_and_after_last() -> None:
    def leaders(reel: Reel) -> tuple[int, int]:
        return reel.first, reel.frames - 1 - reel.last

    assert [leaders(reel) for reel in REELS] == [(18, 10), (14, 8)]
