"""Matroska frames counted by block headers, against demuxing and against files made by hand.

Element names and layout: RFC 8794 (EBML) and RFC 9559 (Matroska).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import av
import pytest
from damaging import cut_short, program
from numbered import write_scan

from retime.errors import ScanError
from retime.media.matroska import BlockCount, count_blocks

if TYPE_CHECKING:
    from pathlib import Path

EBML, SEGMENT, CLUSTER, TRACKS, TRACK, NUMBER, TYPE = (
    *(0x1A45DFA3, 0x18538067, 0x1F43B675, 0x1654AE6B),
    *(0xAE, 0xD7, 0x83),
)
TIMESTAMP, SIMPLE_BLOCK, GROUP, BLOCK, REFERENCE, CUES, VOID, CRC = (
    *(0xE7, 0xA3, 0xA0, 0xA1, 0xFB),
    *(0x1C53BB6B, 0xEC, 0xBF),
)
UNKNOWN = b"\x01" + b"\xff" * 7


def _element(name: int, body: bytes, size: bytes | None = None) -> bytes:
    coded = size or (len(body) | 1 << 28).to_bytes(4, "big")
    return name.to_bytes((name.bit_length() + 7) // 8, "big") + coded + body


def _track(number: int, kind: int) -> bytes:
    return _element(TRACK, _element(NUMBER, bytes([number])) + _element(TYPE, bytes([kind])))


def _block(flags: int, data: bytes = b"picture", track: int = 1) -> bytes:
    return bytes([0x80 | track, 0, 0, flags]) + data


def _simple(flags: int, data: bytes = b"picture", track: int = 1) -> bytes:
    return _element(SIMPLE_BLOCK, _block(flags, data, track))


HEAD = _element(EBML, _element(0x4282, b"matroska"))
ONE_VIDEO = _element(TRACKS, _track(1, 1) + _track(2, 2))
STAMP = _element(TIMESTAMP, b"\0")


def _counted(path: Path, *parts: bytes, size: bytes | None = None) -> BlockCount:
    path.write_bytes(HEAD + _element(SEGMENT, b"".join(parts), size))
    return count_blocks(path)


def _told(path: Path, *parts: bytes) -> str:
    with pytest.raises(ScanError) as caught:
        _counted(path, *parts)
    return str(caught.value).removeprefix(f"{path}: ")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "reel.mkv"


@pytest.mark.parametrize(
    ("codec", "options"),
    [("ffv1", {"g": "1"}), ("ffv1", {"g": "5"}), ("libx264", {"g": "7"}), ("mpeg2video", {})],
)
def test_the_count_is_that_of_demuxing(path: Path, codec: str, options: dict[str, str]) -> None:
    write_scan(path, 40, codec, "yuv420p", options)
    with av.open(str(path)) as container:
        keys = [packet.is_keyframe for packet in container.demux(video=0) if packet.size]

    assert BlockCount(frames=len(keys), key_frames=sum(keys)) == count_blocks(path)


def test_a_file_written_to_a_pipe_has_no_sizes_and_is_counted(path: Path) -> None:
    write_scan(path, 40, "libx264", "yuv420p", {"g": "5"})
    live = path.with_name("live.mkv")
    with live.open("wb") as file:
        program(
            *("-i", path, "-c", "copy", "-f", "matroska", "-live", 1),
            *("-cluster_time_limit", 300, f"pipe:{file.fileno()}"),
            pass_fds=[file.fileno()],
        )

    assert UNKNOWN in live.read_bytes()
    assert count_blocks(path) == count_blocks(live)


def test_sound_beside_the_pictures_is_not_counted(path: Path) -> None:
    blocks = _simple(0x80) + _simple(0x80, track=2) + _simple(0)

    assert _counted(path, ONE_VIDEO, _element(CLUSTER, STAMP + blocks)) == BlockCount(
        frames=2, key_frames=1
    )


def test_a_block_group_is_a_key_frame_if_it_refers_to_no_other(path: Path) -> None:
    alone = _element(GROUP, _element(BLOCK, _block(0)))
    leaning = _element(GROUP, _element(BLOCK, _block(0x80)) + _element(REFERENCE, b"\xff"))
    cluster = _element(CLUSTER, STAMP + alone + leaning)

    assert _counted(path, ONE_VIDEO, cluster) == BlockCount(frames=2, key_frames=1)


def test_a_laced_block_counts_as_all_its_frames(path: Path) -> None:
    three_in_one = _simple(0x80 | 0x04, b"\x02aabbcc")

    assert _counted(path, ONE_VIDEO, _element(CLUSTER, STAMP + three_in_one)) == BlockCount(
        frames=3, key_frames=3
    )


def test_a_cluster_of_unknown_size_ends_where_the_next_thing_begins(path: Path) -> None:
    cluster = _element(CLUSTER, STAMP + _simple(0x80) + _simple(0x80), UNKNOWN)
    cues = _element(CUES, b"anything at all")
    parts = [ONE_VIDEO, cluster, cluster, cues, cluster]

    assert _counted(path, *parts) == BlockCount(frames=6, key_frames=6)
    assert _counted(path, *parts, size=UNKNOWN) == BlockCount(frames=6, key_frames=6)


def test_voids_and_checksums_are_passed_over_anywhere(path: Path) -> None:
    filler = _element(VOID, bytes(300)) + _element(CRC, b"abcd")
    cluster = _element(CLUSTER, filler + STAMP + _simple(0x80) + filler)

    assert _counted(path, filler, ONE_VIDEO, filler, cluster, filler).frames == 1


def test_tracks_may_come_after_the_clusters(path: Path) -> None:
    assert _counted(path, _element(CLUSTER, STAMP + _simple(0x80)), ONE_VIDEO).frames == 1


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9, 0.999])
def test_a_file_that_is_cut_short_is_told(path: Path, share: float) -> None:
    cut_short(write_scan(path, 40, "ffv1", "gray", {"g": "1"}), share)

    with pytest.raises(ScanError, match=r"needs \d+ bytes more than there are, at byte \d+"):
        count_blocks(path)


def test_a_file_without_sizes_that_is_cut_inside_a_block_is_told(path: Path) -> None:
    whole = HEAD + _element(SEGMENT, ONE_VIDEO + _element(CLUSTER, STAMP, UNKNOWN), UNKNOWN)
    for cut in range(1, len(_simple(0x80))):
        path.write_bytes(whole + _simple(0x80) + _simple(0x80)[:cut])
        with pytest.raises(ScanError, match="truncated"):
            count_blocks(path)


def test_damage_is_told_with_its_byte(path: Path) -> None:
    start = len(HEAD) + 8 + len(ONE_VIDEO)
    nothing = "holds nothing that Matroska knows there, at byte"

    assert _told(path, ONE_VIDEO, bytes(20)).startswith(f"{nothing} {start}")
    assert _told(path, ONE_VIDEO, _element(0x99, b"xx")).startswith(f"{nothing} {start}")
    assert _told(path, ONE_VIDEO, _simple(0x80)).startswith(f"{nothing} {start}")
    nested = _element(CLUSTER, STAMP + _element(CLUSTER, STAMP)) + _element(VOID, b"")
    assert nothing in _told(path, ONE_VIDEO, nested)
    outside = _element(CLUSTER, STAMP + _simple(0x80)[:-3])
    assert "reaches out of the one around it" in _told(path, ONE_VIDEO, outside, outside)
    short = _element(CLUSTER, _element(SIMPLE_BLOCK, b"\x81"))
    assert "too short for its header" in _told(path, ONE_VIDEO, short)
    empty = _element(CLUSTER, _element(GROUP, _element(REFERENCE, b"\xff")))
    assert "a block group without a block" in _told(path, ONE_VIDEO, empty)
    endless = _element(CLUSTER, _element(SIMPLE_BLOCK, b"", UNKNOWN))
    assert "unknown size that may not be so" in _told(path, ONE_VIDEO, endless)


def test_other_files_and_other_tracks_are_refused(path: Path) -> None:
    assert _told(path, _element(TRACKS, _track(1, 2))).startswith("holds 0 video tracks")
    assert _told(path, _element(TRACKS, _track(1, 1) + _track(2, 1))).startswith("holds 2 video")
    assert _told(path, _element(CLUSTER, STAMP)) == "holds no list of tracks"
    path.write_bytes(HEAD + _element(CUES, b"x"))
    with pytest.raises(ScanError, match="has no segment"):
        count_blocks(path)
    path.write_bytes(b"\x1a\x45")
    with pytest.raises(ScanError, match="at byte 0"):
        count_blocks(path)
    path.write_bytes(b"RIFF" + bytes(100))
    with pytest.raises(ScanError, match="at byte 0"):
        count_blocks(path)
