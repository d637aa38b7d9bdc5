"""Coded frames come out in order and untouched, read ahead in a thread that always ends."""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING

import pytest
from damaging import cut_short, damage, packets_of, program
from numbered import write_scan

from retime.errors import ScanError
from retime.media import packets as packets_module
from retime.media.demuxing import frame_packets
from retime.media.packets import read_packets
from retime.media.probe import probe

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from av.packet import Packet
    from av.video.stream import VideoStream

INTRA = {"level": "3", "g": "1"}


def _reading_threads() -> int:
    return sum(thread.name == "read-ahead" for thread in threading.enumerate())


def _told(path: Path, first: int, last: int, count: int | None = None) -> str:
    with pytest.raises(ScanError) as caught:
        list(read_packets(probe(path), first, last, count=count))
    assert not _reading_threads()
    return str(caught.value).removeprefix(f"{path}: ")


@pytest.mark.parametrize(
    ("name", "codec", "pix_fmt"), [("x.mkv", "ffv1", "gray"), ("x.mov", "prores_ks", "yuv422p10le")]
)
def test_the_packets_are_those_of_the_file_byte_for_byte(
    tmp_path: Path,
    name: str,
    codec: str,
    pix_fmt: str,
) -> None:
    path = write_scan(tmp_path / name, 20, codec, pix_fmt, INTRA if codec == "ffv1" else {})
    expected = packets_of(path)

    assert expected == [bytes(one) for one in read_packets(probe(path), 0, 19, count=20)]
    assert expected[5:8] == [bytes(one) for one in read_packets(probe(path), 5, 7)]


def test_what_an_edit_list_cuts_away_is_not_copied(tmp_path: Path) -> None:
    whole = write_scan(tmp_path / "whole.mov", 20, "prores_ks", "yuv422p10le")
    cut = tmp_path / "cut.mov"
    program("-ss", "0.2", "-t", "0.5", "-i", whole, "-c", "copy", cut)
    facts = probe(cut)
    assert facts.header_frames == 9
    copied = [bytes(one) for one in read_packets(facts, 0, 8, count=9)]

    assert packets_of(whole)[4:13] == copied


def test_other_counts_than_stated_are_told(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "x.mkv", 10, "ffv1", "gray", INTRA)

    assert _told(path, 2, 10, 11).startswith("ends after 10 frames, before frame 10;")
    assert _told(path, 2, 8, 9) == "goes on after the 9 frames that it is said to hold"


def test_a_frame_that_leans_on_another_is_told_by_its_number(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "x.mkv", 10, "ffv1", "gray", {"level": "3", "g": "4"})

    assert _told(path, 0, 9) == "frame 1 does not stand alone, or is damaged"
    assert [packet.is_keyframe for packet in read_packets(probe(path), 4, 4)] == [True]


def test_a_damaged_ffv1_slice_is_not_copied_on(tmp_path: Path) -> None:
    options = {**INTRA, "slices": "4", "slicecrc": "1"}
    scan = write_scan(tmp_path / "x.mkv", 12, "ffv1", "yuv420p", options)
    damage(scan, 6)

    assert _told(scan, 0, 11) == "frame 6 is damaged (a slice does not match its checksum)"


def test_a_file_that_is_cut_short_is_told(tmp_path: Path) -> None:
    path = write_scan(
        tmp_path / "x.mov",
        30,
        "prores_ks",
        "yuv422p10le",
        container_options={"movflags": "faststart"},
    )
    told = _told(cut_short(path, 0.7), 0, 29)

    assert "before frame 29" in told or "or is damaged" in told


def test_a_file_that_vanished_is_told_where_it_is_read(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "x.mkv", 3, "ffv1", "gray", INTRA)
    facts = probe(path)
    path.unlink()

    with pytest.raises(ScanError, match="is not there"):
        next(read_packets(facts, 0, 2))


def test_leaving_early_ends_the_thread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packets_module, "READ_AHEAD", 1)
    path = write_scan(tmp_path / "x.mkv", 50, "ffv1", "gray", INTRA)
    packets = read_packets(probe(path), 0, 49)
    next(packets)
    assert _reading_threads() == 1
    packets.close()

    assert not _reading_threads()


def test_an_error_of_the_taker_ends_the_thread(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(packets_module, "READ_AHEAD", 1)
    path = write_scan(tmp_path / "x.mkv", 50, "ffv1", "gray", INTRA)

    def take() -> None:
        for _ in read_packets(probe(path), 0, 49):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        take()
    assert not _reading_threads()


def test_the_thread_waits_when_enough_has_been_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_scan(tmp_path / "x.mkv", 50, "ffv1", "gray", INTRA)
    read: list[int] = []

    def counted(
        path: Path, first: int, last: int, count: int | None
    ) -> Iterator[Packet[VideoStream]]:
        for packet in frame_packets(path, first, last, count):
            read.append(packet.size)
            yield packet

    monkeypatch.setattr(packets_module, "frame_packets", counted)
    monkeypatch.setattr(packets_module, "READ_AHEAD", 1000)
    packets = read_packets(probe(path), 0, 49)
    next(packets)
    settled = -1
    while settled != len(read):  # the thread stops by itself; how soon does not matter
        settled = len(read)
        time.sleep(0.02)

    taken_once = waiting = 1000 + max(read)
    assert sum(read) <= taken_once + waiting + max(read)
    assert len(list(packets)) == 49
