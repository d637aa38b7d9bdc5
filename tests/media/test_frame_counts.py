"""Frame counts: from an index, by walking, by demuxing, and remembered."""

from __future__ import annotations

import json
import os
from typing import TYPE_CHECKING

import pytest
from damaging import cut_short, program
from numbered import read_with_program, write_scan

from retime.errors import ScanError
from retime.media import count as count_module
from retime.media.count import count_frames, frame_count
from retime.media.countcache import FileState, recall, remember, state_of, users_cache
from retime.media.facts import FrameCount
from retime.media.matroska import BlockCount, count_blocks
from retime.media.probe import probe

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize(
    ("name", "codec", "options", "all_keys"),
    [
        ("x.mov", "prores_ks", {}, True),
        ("x.mp4", "libx264", {"g": "5"}, False),
        ("x.mkv", "ffv1", {"g": "1"}, True),
        ("x.mkv", "libx264", {"g": "5"}, False),
        ("x.avi", "huffyuv", {}, True),
        ("x.ts", "mpeg2video", {"g": "5"}, False),
        ("x.nut", "ffv1", {"g": "1"}, True),
    ],
)
def test_every_container_gives_the_count_that_the_program_decodes(
    tmp_path: Path, name: str, codec: str, options: dict[str, str], *, all_keys: bool
) -> None:
    pix_fmt = "yuv420p" if codec in {"libx264", "mpeg2video"} else "yuv422p"
    pix_fmt = "yuv422p10le" if codec == "prores_ks" else pix_fmt
    path = write_scan(tmp_path / name, 23, codec, pix_fmt, options)

    assert len(read_with_program(path)) == 23
    assert count_frames(probe(path), cache=None) == FrameCount(frames=23, all_keys=all_keys)
    assert frame_count(probe(path), cache=None) == 23


def test_an_edit_list_is_counted_as_it_is_shown(tmp_path: Path) -> None:
    whole = write_scan(tmp_path / "whole.mov", 40, "libx264", "yuv420p", {"g": "10"})
    cut = tmp_path / "cut.mov"
    program("-ss", "0.8", "-i", whole, "-c", "copy", cut)
    facts = probe(cut)

    assert len(read_with_program(cut)) == frame_count(facts, cache=None)
    assert frame_count(facts, cache=None) == count_frames(facts, cache=None).frames


def test_fragments_are_counted_by_demuxing(tmp_path: Path) -> None:
    whole = write_scan(tmp_path / "whole.mp4", 20, "libx264", "yuv420p", {"g": "5"})
    program("-i", whole, "-c", "copy", "-movflags", "frag_keyframe+empty_moov", tmp_path / "f.mp4")

    assert frame_count(probe(tmp_path / "f.mp4"), cache=None) == 20


def test_holes_in_a_sequence_count_as_frames(tmp_path: Path) -> None:
    pattern = write_scan(tmp_path / "%04d.png", 5, "png", "gray", start_number=10)
    (tmp_path / "0012.png").unlink()

    assert frame_count(probe(pattern), cache=None) == 5
    assert count_frames(probe(pattern), cache=None) == FrameCount(frames=5, all_keys=True)


def test_a_count_is_found_out_once_and_again_when_the_file_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    walked: list[Path] = []

    def walk(path: Path) -> BlockCount:
        walked.append(path)
        return count_blocks(path)

    monkeypatch.setattr(count_module, "count_blocks", walk)
    path, cache = write_scan(tmp_path / "x.mkv", 4), tmp_path / "cache"
    counts = [frame_count(probe(path), cache=cache) for _ in range(3)]

    assert counts == [4, 4, 4]
    assert walked == [path]
    write_scan(path, 6)
    assert frame_count(probe(path), cache=cache) == 6
    assert len(walked) == 2


def test_another_time_of_change_is_another_file(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "x.mkv", 4)
    before = state_of(path)
    remember(tmp_path, before, FrameCount(frames=4, all_keys=True))
    os.utime(path, ns=(0, before.mtime_ns + 1))

    assert recall(tmp_path, before) == FrameCount(frames=4, all_keys=True)
    assert recall(tmp_path, state_of(path)) is None


STATE = FileState(path="/films/reel.mkv", size=9, mtime_ns=8)


@pytest.mark.parametrize(
    "change",
    [
        {"frames": "4"},
        {"frames": -1},
        {"frames": True},
        {"all_keys": 1},
        {"size": 10},
        {"path": "/films/other.mkv"},
        {"format": "another/1"},
        {"more": 1},
    ],
)
def test_a_record_that_is_odd_in_any_field_is_as_none(
    tmp_path: Path, change: dict[str, object]
) -> None:
    remember(tmp_path, STATE, FrameCount(frames=4, all_keys=True))
    (record,) = tmp_path.iterdir()
    record.write_text(json.dumps(json.loads(record.read_text()) | change), encoding="utf-8")

    assert recall(tmp_path, STATE) is None


@pytest.mark.parametrize("text", ["", "[]", "{", "null", "\0", "[" * 100_000])
def test_a_broken_record_is_as_none_and_is_replaced(tmp_path: Path, text: str) -> None:
    count = FrameCount(frames=4, all_keys=True)
    remember(tmp_path, STATE, count)
    (record,) = tmp_path.iterdir()
    record.write_text(text, encoding="utf-8")

    assert recall(tmp_path, STATE) is None
    remember(tmp_path, STATE, count)
    assert count == recall(tmp_path, STATE)
    assert len(list(tmp_path.iterdir())) == 1


def test_a_cache_that_cannot_be_written_hurts_nobody(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    path = write_scan(tmp_path / "x.mkv", 4)

    assert frame_count(probe(path), cache=tmp_path / "file" / "cache") == 4


def test_the_users_cache_is_where_the_xdg_specification_puts_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "else"))
    assert users_cache() == tmp_path / "else" / "retime" / "counts"
    for unset in ("", "relative"):
        monkeypatch.setenv("XDG_CACHE_HOME", unset)
        assert users_cache() == tmp_path / ".cache" / "retime" / "counts"


def test_a_file_that_is_cut_short_has_no_count(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "x.mkv", 30)
    facts = probe(path)
    cut_short(path, 0.6)

    with pytest.raises(ScanError, match="truncated"):
        frame_count(facts, cache=tmp_path / "cache")
    assert not (tmp_path / "cache").exists()
