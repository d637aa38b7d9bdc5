"""A preview's folder: nothing of anybody else's is touched, and nothing half-made is left."""

from __future__ import annotations

import json
import os
from typing import TYPE_CHECKING, Any

import pytest
from looked_at import made
from numbered import read_with_program, write_scan

from retime.errors import OutputError, ScanError
from retime.preview.clips import ClipMaker
from retime.preview.folder import Folder
from retime.render.progress import Silent

if TYPE_CHECKING:
    from pathlib import Path

QUICK: dict[str, Any] = {"frames": "0-5", "rates": "24", "speeds": "20"}


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    (tmp_path / "scans").mkdir()
    return write_scan(tmp_path / "scans" / "scan.mkv", 24)


def states(folder: Path) -> dict[str, tuple[int, int]]:
    """Return the times and inodes of every file but the page."""
    return {
        str(path.relative_to(folder)): (path.stat().st_mtime_ns, path.stat().st_ino)
        for path in folder.rglob("*")
        if path.is_file() and path.name != "index.html"
    }


def texts(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_a_folder_is_made_and_holds_nothing_but_a_preview(scan: Path, tmp_path: Path) -> None:
    made(scan, to=tmp_path / "look", **QUICK)

    assert {
        "index.html",
        "preview.json",
        "delivered/e1-s1-24-repeat.mp4",
        *(f"pictures/e1/{number:05}.jpg" for number in range(6)),
    } == set(texts(tmp_path / "look"))
    assert {"look", "scans"} == {one.name for one in tmp_path.iterdir()}


def test_a_second_run_without_changes_writes_the_page_alone(scan: Path, tmp_path: Path) -> None:
    first = made(scan, to=tmp_path / "look", **QUICK)
    before, page = states(first.folder), (first.folder / "index.html").stat().st_ino
    again = made(scan, to=tmp_path / "look", **QUICK)

    assert before == states(first.folder)
    assert page != (first.folder / "index.html").stat().st_ino
    assert first.values == again.values
    assert any("nothing has changed" in line for line in again.said)


@pytest.mark.parametrize(
    "changed",
    [
        {"frames": "1-6"},
        {"rates": "25"},
        {"speeds": "18"},
        {"width": 100},
        {"seconds": 1, "frames": "0-23"},
        {"blend": True},
        {"gauge": "16mm"},
    ],
)
def test_whatever_else_is_asked_for_is_made(
    changed: dict[str, Any], scan: Path, tmp_path: Path
) -> None:
    first = made(scan, to=tmp_path / "look", **QUICK)
    again = made(scan, to=tmp_path / "look", **(QUICK | changed))

    assert first.values != again.values
    assert set(again.record.files) | {"index.html", "preview.json"} == set(texts(again.folder))


def test_a_scan_that_changed_is_read_again(scan: Path, tmp_path: Path) -> None:
    made(scan, to=tmp_path / "look", **QUICK)
    write_scan(scan, range(50, 74))
    os.utime(scan, ns=(1, 1))
    again = made(scan, to=tmp_path / "look", **QUICK)

    assert [50] == read_with_program(again.pictures("e1")[0])


def test_a_map_that_changed_is_planned_again(scan: Path, tmp_path: Path) -> None:
    path = tmp_path / "scans" / "map.yaml"
    text = (
        "format: retime-map/1\nfilm: One\ngauge: 35mm\n"
        f"reels: [{{{{reel: 1, scan: {scan.name}}}}}]\n"
        "versions: {{v: {{speed: {0} fps}}}}\ndeliverables: {{}}\n"
    )
    path.write_text(text.format(18))
    first = made(path, to=tmp_path / "look", **QUICK)
    path.write_text(text.format(22))
    again = made(path, to=tmp_path / "look", **QUICK)

    assert ["18", "22"] == [one.values["versions"][0]["speed"] for one in (first, again)]
    assert ["18", "22"] == [one.delivered(rate="24")["speed"] for one in (first, again)]


def test_a_file_that_was_lost_is_made_again(scan: Path, tmp_path: Path) -> None:
    first = made(scan, to=tmp_path / "look", **QUICK)
    first.pictures("e1")[3].unlink()
    again = made(scan, to=tmp_path / "look", **QUICK)

    assert 6 == len(again.pictures("e1"))


def test_a_folder_that_holds_other_things_is_refused(scan: Path, tmp_path: Path) -> None:
    (tmp_path / "look").mkdir()
    (tmp_path / "look" / "letter.txt").write_text("mine")
    with pytest.raises(OutputError, match="is no preview"):
        made(scan, to=tmp_path / "look", **QUICK)
    forced = made(scan, to=tmp_path / "look", force=True, **QUICK)

    assert "mine" == (tmp_path / "look" / "letter.txt").read_text()
    assert (forced.folder / "index.html").exists()


@pytest.mark.parametrize("name", ["pictures", "delivered"])
def test_not_even_force_mixes_ours_with_somebody_elses(
    name: str, scan: Path, tmp_path: Path
) -> None:
    (tmp_path / "look" / name).mkdir(parents=True)
    (tmp_path / "look" / name / "holiday.jpg").write_text("mine")
    with pytest.raises(OutputError, match="was not made here"):
        made(scan, to=tmp_path / "look", force=True, **QUICK)

    assert {f"{name}/holiday.jpg"} == set(texts(tmp_path / "look"))


def test_what_was_put_into_a_preview_by_hand_stays(scan: Path, tmp_path: Path) -> None:
    made(scan, to=tmp_path / "look", **QUICK)
    (tmp_path / "look" / "pictures" / "e1" / "mine.jpg").write_text("mine")
    made(scan, to=tmp_path / "look", **(QUICK | {"frames": "0-2"}))

    found = set(texts(tmp_path / "look"))
    assert "pictures/e1/mine.jpg" in found
    assert "pictures/e1/00002.jpg" in found
    assert "pictures/e1/00003.jpg" not in found


def test_a_folder_around_a_scan_is_refused(scan: Path) -> None:
    with pytest.raises(OutputError, match="a folder that an input is in"):
        made(scan, to=scan.parent, force=True, **QUICK)


@pytest.mark.parametrize(
    "told",
    [
        "",
        "[]",
        "{}",
        '{"format": "retime-preview-folder/2"}',
        '{"format": "retime-preview-folder/1", "digest": "", "files": {"../x": 1}, "values": {}}',
        '{"format": "retime-preview-folder/1", "digest": "", "files": {"/etc/x": 1}, "values": {}}',
        "[" * 10_000,
    ],
)
def test_a_record_that_makes_no_sense_is_none(told: str, tmp_path: Path) -> None:
    (tmp_path / "preview.json").write_text(told)

    assert Folder(tmp_path).record() is None


class Interrupting(Silent):
    """Interrupts the work after so many pictures."""

    def __init__(self, after: int) -> None:
        """Take how many."""
        self.left = after

    def advance(self, pictures: int) -> None:
        """Count them."""
        self.left -= pictures
        if self.left < 0:
            raise KeyboardInterrupt


@pytest.mark.parametrize("after", [0, 3, 6])
def test_an_interrupt_leaves_nothing(after: int, scan: Path, tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt):
        made(scan, to=tmp_path / "look", progress=Interrupting(after), **QUICK)

    assert {"scans"} == {one.name for one in tmp_path.iterdir()}


def test_whatever_stops_a_later_run_leaves_the_earlier_preview_as_it_was(
    scan: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made(scan, to=tmp_path / "look", **QUICK)
    before = texts(tmp_path / "look")

    def broken(*_: object) -> None:
        raise ScanError(scan, "is gone")

    monkeypatch.setattr(ClipMaker, "make", broken)
    with pytest.raises(ScanError, match="is gone"):
        made(scan, to=tmp_path / "look", **(QUICK | {"frames": "0-2"}))

    assert before == texts(tmp_path / "look")


def test_what_was_killed_is_taken_up_again(scan: Path, tmp_path: Path) -> None:
    work = tmp_path / "look" / ".retime-preview-unfinished"
    work.mkdir(parents=True)
    (work / "half.jpg").write_text("")
    preview = made(scan, to=tmp_path / "look", **QUICK)

    assert not work.exists()
    assert 6 == len(preview.pictures("e1"))


def test_the_record_is_json_that_names_every_file_by_its_size(scan: Path, tmp_path: Path) -> None:
    preview = made(scan, to=tmp_path / "look", **QUICK)
    told = json.loads((preview.folder / "preview.json").read_text())

    assert {"format", "digest", "files", "values"} == set(told)
    assert told["files"] == {
        name: (preview.folder / name).stat().st_size
        for name in texts(preview.folder)
        if "/" in name
    }
