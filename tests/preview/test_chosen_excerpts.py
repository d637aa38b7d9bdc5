"""Which excerpts are looked at, and that choosing them never decodes a film."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

import av
import numpy as np
import pytest
from looked_at import made, wanted
from numbered import draw_grey, write_scan

from retime.errors import CommandError
from retime.preview.busiest import GLANCES, busiest_of
from retime.preview.choosing import chosen, to_be_seen
from retime.preview.excerpt import cut
from retime.preview.glancing import Glances, motion_of
from retime.preview.subject import subject_of
from retime.render.progress import Silent

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from numpy.typing import NDArray

    from retime.preview.excerpt import Excerpt


def moving(path: Path, moves: Iterable[bool], codec: str = "ffv1") -> Path:
    """Write a scan whose frames show another number than the one before where they move."""
    numbers, number = [], 0
    for place, one in enumerate(moves):
        number = place * 977 if one else number
        numbers.append(number)
    grey = codec in {"ffv1", "png"}
    options = {"level": "3", "g": "1"} if codec == "ffv1" else {"g": "40"}
    return write_scan(
        path, numbers, codec, "gray" if grey else "yuv420p", {} if codec == "png" else options
    )


def choose(path: Path, most: int = 32, **options: object) -> tuple[Excerpt, ...]:
    return chosen(subject_of([path], None), wanted(**options), most, Silent())


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two reels: in the first shot 3 moves, in the second shot 1; titles move not at all."""
    folder = tmp_path_factory.mktemp("film")
    moving(folder / "one.mkv", [30 <= place < 60 for place in range(100)])
    moving(folder / "two.mkv", [place < 20 for place in range(60)])
    (folder / "map.yaml").write_text(
        """\
format: retime-map/1
film: Busy
gauge: 35mm
reels: [{reel: A, scan: one.mkv}, {reel: B, scan: two.mkv}]
shots:
  - {reel: A, first: 0, last: 9, shot: 1, kind: title}
  - {reel: A, first: 10, last: 29, shot: 2}
  - {reel: A, first: 30, last: 59, shot: 3, name: a chase}
  - {reel: A, first: 60, last: 99, shot: 4}
  - {reel: B, first: 0, last: 19, shot: 1}
  - {reel: B, first: 20, last: 44, shot: 2, kind: title}
  - {reel: B, first: 45, last: 59, shot: 3}
versions: {v: {speed: 18 fps}}
deliverables: {}
"""
    )
    return folder / "map.yaml"


def test_the_busiest_shot_of_each_reel_and_the_longest_title_are_chosen(film: Path) -> None:
    found = choose(film)

    assert [("A", "3"), ("B", "1"), ("B", "2")] == [(one.reel, one.shot) for one in found]
    assert ["e1", "e2", "e3"] == [one.key for one in found]
    assert ["Reel A, shot 3", "Reel B, shot 1", "Reel B, shot 2"] == [one.title for one in found]
    assert "a chase" == found[0].name
    assert "the busiest shot of reel A" in found[0].why
    assert f"at most {GLANCES} pairs" in found[0].why
    assert "the longest title" == found[2].why


def test_a_cut_is_not_taken_for_motion(tmp_path: Path) -> None:
    changes = {35, 75, 115}  # every place but these shows what was before, and 300 to 339 move
    moves = [place in changes or 300 <= place < 340 for place in range(400)]
    scan = moving(tmp_path / "scan.mkv", moves)
    (excerpt,) = choose(scan, most=30)

    assert 300 <= excerpt.first + 15 < 340


def test_a_reel_without_shots_is_looked_at_where_most_moves(tmp_path: Path) -> None:
    scan = moving(tmp_path / "scan.mkv", [200 <= place < 240 for place in range(400)])
    (excerpt,) = choose(scan, most=40)

    assert 40 == excerpt.frames
    assert 180 <= excerpt.first <= 220
    assert excerpt.shot is None


@pytest.mark.parametrize("name", ["scan.mkv", "scan.mp4", "scan.avi", "files/%05d.png"])
def test_pairs_are_neighbours_whatever_the_file(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    codec = {"mkv": "ffv1", "mp4": "libx264", "avi": "mpeg4", "png": "png"}[path.suffix[1:]]
    moving(path, [place == 71 for place in range(120)], codec)
    (scan,) = subject_of([path], None).scans
    with Glances(scan) as glances:
        found = [(frame, glances.at(frame, frame - 50)) for frame in (0, 69, 70, 71, 118)]
    seen = [(frame, glance) for frame, glance in found if glance is not None]

    # The one change is from frame 70 to 71; a file that cannot be sought may show less.
    assert seen
    assert all((glance.motion > 0.05) == (glance.frame == 70) for _, glance in seen)
    assert all(frame - 50 <= glance.frame <= frame for frame, glance in seen)
    if path.suffix in {".mkv", ".png"}:
        assert [frame for frame, _ in found] == [glance.frame for _, glance in seen]


def test_flicker_is_no_motion() -> None:
    one: NDArray[np.float32] = draw_grey(7, 128, 96).astype(np.float32) / np.float32(255)

    assert motion_of(one, one + np.float32(0.1)) < 1e-6
    assert motion_of(one, np.roll(one, 3, axis=1)) > 0.01


@pytest.mark.parametrize("shots", [1, 3, 39, 41, 500])
def test_a_reel_is_glanced_at_no_more_often_than_it_says(
    shots: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Glances, "at", lambda _self, _frame, _since: None)
    scan = write_scan(tmp_path / "scan.mkv", 2)
    (reel,) = subject_of([scan], None).scans
    taken = []
    spans = [(number * 30, number * 30 + 29) for number in range(shots)]
    found = busiest_of(reel, spans, lambda: taken.append(1))

    assert 0 < len(taken) <= GLANCES
    assert found.about is None


def test_what_is_glanced_at_is_what_was_foretold(film: Path) -> None:
    subject, asked = subject_of([film], None), wanted()

    class Counting(Silent):
        count = 0

        def advance(self, pictures: int) -> None:
            self.count += pictures

    progress = Counting()
    chosen(subject, asked, 32, progress)

    assert progress.count == to_be_seen(subject, asked)


def test_few_pictures_are_decoded_for_a_glance(tmp_path: Path) -> None:
    scan = moving(tmp_path / "scan.mkv", [True] * 300)
    (reel,) = subject_of([scan], None).scans
    with Glances(reel) as glances:
        assert glances.at(280, 0) is not None
        assert glances.decoded == 2


def test_named_shots_come_one_by_one_in_the_order_named(film: Path) -> None:
    found = choose(film, shots="B/3,A/2-A/4")

    assert ["B/3", "A/2", "A/3", "A/4"] == [f"{one.reel}/{one.shot}" for one in found]


def test_frames_are_counted_as_the_scan_counts_them(film: Path) -> None:
    found = choose(film, most=100, frames="B/10-30,A/30-59")

    assert [("B", 10, 21), ("A", 30, 30)] == [(one.reel, one.first, one.frames) for one in found]
    # These frames are exactly a shot's.
    assert [None, "3"] == [one.shot for one in found]
    assert "Reel B, frames 10 to 30" == found[0].title


def test_an_excerpt_lasts_no_longer_than_asked_at_the_slowest_speed(tmp_path: Path) -> None:
    scan = write_scan(tmp_path / "scan.mkv", 100)
    preview = made(
        scan, to=tmp_path / "look", frames="0-99", seconds=3, speeds="24,12.5,18", rates="24"
    )
    (excerpt,) = preview.values["excerpts"]

    assert 37 == excerpt["frames"]  # 3 x 12.5, whole frames
    assert "cut to 37 of 100 frames" in excerpt["why"]
    assert ["25/2", "18", "24"] == preview.values["speeds"]


@pytest.mark.parametrize(
    ("about", "expected"),
    [(None, (45, 54)), (3, (0, 9)), (50, (45, 54)), (98, (90, 99)), (0, (0, 9))],
)
def test_an_excerpt_is_cut_around_a_frame_within_its_shot(
    about: int | None, expected: tuple[int, int]
) -> None:
    assert expected == cut(0, 99, 10, about)
    assert (0, 99) == cut(0, 99, 100, about)


def test_no_more_excerpts_are_taken_than_a_page_has(film: Path) -> None:
    with pytest.raises(CommandError, match="25 excerpts"):
        choose(film, frames=",".join(f"A/{n}-{n + 5}" for n in range(25)))


def test_more_than_memory_holds_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("retime.preview.making._MOST_BYTES", 160 * 96 * 3 // 2 * 20)
    scan = write_scan(tmp_path / "scan.mkv", 30)
    made(scan, to=tmp_path / "look", frames="0-19", rates="24", speeds="20")
    with pytest.raises(CommandError, match="21 pictures of 160x96 are too many"):
        made(scan, to=tmp_path / "look", frames="0-20", rates="24", speeds="20")


def test_speeds_by_length_are_read_by_the_gauge(tmp_path: Path) -> None:
    scan = write_scan(tmp_path / "scan.mkv", 30)
    options: dict[str, Any] = {"frames": "0-9", "rates": "24", "speeds": "60 ft/min"}
    by_gauge = {
        gauge: made(scan, to=tmp_path / str(number), gauge=gauge, **options).values
        for number, gauge in enumerate(("35mm", "16mm"))
    }

    # 16 and 40 frames to the foot by convention: 60 feet a minute are a foot a second.
    assert {"35mm": ["16"], "16mm": ["40"]} == {
        gauge: values["speeds"] for gauge, values in by_gauge.items()
    }
    assert Fraction(40) == Fraction(by_gauge["16mm"]["frames_per_foot"])


def test_several_scans_are_reels(tmp_path: Path) -> None:
    one = write_scan(tmp_path / "one.mkv", 30)
    two = write_scan(tmp_path / "two.mkv", range(500, 540))
    preview = made(one, two, to=tmp_path / "look", frames="2/5-9,1/0-3", rates="24", speeds="20")

    assert [("2", 5), ("1", 0)] == [
        (one["reel"], one["first"]) for one in preview.values["excerpts"]
    ]
    assert (70, "one.mkv and 1 more") == (preview.values["frames"], preview.values["film"])
    with av.open(str(preview.pictures("e1")[0])) as picture:
        assert (160, 96) == (picture.streams.video[0].width, picture.streams.video[0].height)
