"""A reader begins at any frame of a movie that says where its frames are, and reads no more."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from numbered import read_frame, write_scan

from retime.errors import ScanError
from retime.media import demuxing
from retime.media.frame_times import can_be_entered, frame_time
from retime.media.matroska import block_times
from retime.media.packets import read_packets
from retime.media.probe import probe
from retime.media.reader import read_frames

if TYPE_CHECKING:
    from pathlib import Path
    from typing import Any

INTRA = {"level": "3", "g": "1", "slicecrc": "1"}
FRAMES = 90
MOVIES = {
    "a.mkv": ("ffv1", "gray", INTRA),
    "b.mov": ("rawvideo", "uyvy422", {}),
    "c.mov": ("prores_ks", "yuv422p10le", {}),
    "d.avi": ("ffv1", "gray", INTRA),
}


@pytest.fixture(scope="module", params=MOVIES)
def movie(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    codec, pixel_format, options = MOVIES[request.param]
    path = tmp_path_factory.mktemp("movies") / request.param
    return write_scan(path, FRAMES, codec, pixel_format, options)


@pytest.mark.parametrize(("first", "last"), [(0, 3), (1, 2), (44, 50), (FRAMES - 1, FRAMES - 1)])
def test_frames_are_those_that_were_asked_for_wherever_reading_begins(
    first: int, last: int, movie: Path
) -> None:
    facts = probe(movie)
    read = read_frames(facts, first, last, count=FRAMES)

    assert list(range(first, last + 1)) == [read_frame(one) for one in read if one is not None]
    assert last + 1 - first == len(list(read_packets(facts, first, last, count=FRAMES)))


def test_what_lies_before_is_not_read(movie: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An AVI is read from its start: it does not say when its frames are."""
    read = 0

    def counted(*told: Any) -> Any:
        nonlocal read
        for packet in packets_of(*told):
            read += 1
            yield packet

    packets_of = demuxing.coded_frames
    monkeypatch.setattr(demuxing, "coded_frames", counted)
    assert 3 == sum(1 for _ in demuxing.frame_packets(movie, 80, 82))

    assert read == (83 if movie.suffix == ".avi" else 3)


def test_a_movie_that_ends_too_early_is_told_wherever_reading_begins(movie: Path) -> None:
    with pytest.raises(ScanError, match=f"ends after {FRAMES} frames, before frame {FRAMES + 5}"):
        list(demuxing.frame_packets(movie, FRAMES - 4, FRAMES + 5))
    with pytest.raises(ScanError, match=f"goes on after the {FRAMES - 2} frames"):
        list(demuxing.frame_packets(movie, FRAMES - 4, FRAMES - 3, FRAMES - 2))


def test_block_headers_tell_the_time_of_every_frame(tmp_path: Path) -> None:
    """Matroska counts milliseconds, unless it says otherwise: RFC 9559, TimestampScale."""
    path = write_scan(tmp_path / "a.mkv", 12, "ffv1", "gray", INTRA)
    wanted = [(2 * 1000 * frame + 18) // 36 for frame in range(12)]  # at 18 a second, rounded

    assert wanted == block_times(path, 12)
    assert wanted == block_times(path, 20)
    assert wanted[:5] == block_times(path, 5)
    assert wanted[7] == frame_time(path, 7, "matroska,webm")


def test_no_time_is_told_of_what_says_none(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "a.avi", 12, "ffv1", "gray", INTRA)

    assert frame_time(path, 7, "avi") is None
    assert not can_be_entered(probe(path))


def test_pictures_that_lean_on_earlier_ones_cannot_be_entered(tmp_path: Path) -> None:
    assert not can_be_entered(probe(write_scan(tmp_path / "a.mkv", 9, "libx264", "yuv420p")))
    assert can_be_entered(probe(write_scan(tmp_path / "r" / "%03d.dpx", 3, "dpx", "gbrp10be")))
