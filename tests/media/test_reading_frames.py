"""Pictures come out in order, as many as asked for, each the frame that it is taken for."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

import av
import numpy as np
import pytest
from damaging import cut_short, damage, program
from numbered import draw, encode_files, read_frame, read_with_program, write_scan
from PIL import Image

from retime.errors import ScanError
from retime.media.probe import probe
from retime.media.reader import read_frames

if TYPE_CHECKING:
    from pathlib import Path

INTRA = {"level": "3", "g": "1", "slices": "4", "slicecrc": "1"}
MOVIES = [
    ("x.mkv", "ffv1", "yuv422p10le", INTRA),
    ("x.mkv", "ffv1", "yuv420p", {"level": "3", "g": "5"}),
    ("x.mkv", "ffv1", "yuv420p", {"level": "1", "g": "5", "slicecrc": "0"}),
    ("x.mov", "prores_ks", "yuv422p10le", {}),
    ("x.avi", "mjpeg", "yuvj420p", {}),
    ("x.mp4", "libx264", "yuv420p", {"g": "10", "bf": "3"}),
    ("x.ts", "mpeg2video", "yuv420p", {"g": "6", "bf": "2"}),
]
FILES = [
    ("dpx", "dpx", "gbrp10be"),
    ("tif", "tiff", "rgb48le"),
    ("png", "png", "rgb48be"),
    ("jpg", "mjpeg", "yuvj420p"),
    ("jp2", "jpeg2000", "rgb24"),
    ("exr", "exr", "gbrpf32le"),
]


def _shown(
    path: Path, first: int, last: int, *, threads: int = 0, count: int | None = None
) -> list[int | None]:
    frames = read_frames(probe(path), first, last, threads=threads, count=count)
    return [None if frame is None else read_frame(frame) for frame in frames]


def _told(path: Path, first: int, last: int, *, threads: int = 0, count: int | None = None) -> str:
    with pytest.raises(ScanError) as caught:
        _shown(path, first, last, threads=threads, count=count)
    return str(caught.value).removeprefix(f"{path}: ")


@pytest.mark.parametrize(("name", "codec", "pix_fmt", "options"), MOVIES)
@pytest.mark.parametrize("threads", [1, 3])
def test_exactly_the_frames_from_first_to_last_are_read(  # noqa: PLR0913, PLR0917 - a grid of cases
    tmp_path: Path, name: str, codec: str, pix_fmt: str, options: dict[str, str], threads: int
) -> None:
    path = write_scan(tmp_path / name, 24, codec, pix_fmt, options)

    assert list(range(24)) == _shown(path, 0, 23, threads=threads, count=24)
    assert list(range(7, 14)) == _shown(path, 7, 13, threads=threads)
    assert [23] == _shown(path, 23, 23, threads=threads, count=24)


@pytest.mark.parametrize(("name", "codec", "pix_fmt", "options"), MOVIES)
def test_a_scan_with_other_frames_than_stated_is_told(
    tmp_path: Path, name: str, codec: str, pix_fmt: str, options: dict[str, str]
) -> None:
    path = write_scan(tmp_path / name, 9, codec, pix_fmt, options)

    assert _told(path, 3, 9, count=10).startswith("ends after 9 frames, before frame 9;")
    assert _told(path, 0, 7, count=8) == "goes on after the 8 frames that it is said to hold"


def test_frames_that_an_edit_list_hides_are_not_counted(tmp_path: Path) -> None:
    whole = write_scan(tmp_path / "whole.mov", 40, "libx264", "yuv420p", {"g": "10"})
    cut = tmp_path / "cut.mov"
    program("-ss", "0.8", "-i", whole, "-c", "copy", cut)
    shown = read_with_program(cut)

    assert shown == _shown(cut, 0, len(shown) - 1, count=len(shown))
    assert shown[2:4] == _shown(cut, 2, 3)


@pytest.mark.parametrize(("ending", "codec", "pix_fmt"), FILES)
@pytest.mark.parametrize("threads", [1, 3])
def test_numbered_files_are_read_and_a_hole_gives_none(
    tmp_path: Path, ending: str, codec: str, pix_fmt: str, threads: int
) -> None:
    pattern = write_scan(tmp_path / f"%06d.{ending}", range(50, 58), codec, pix_fmt, start_number=1)
    (tmp_path / f"000003.{ending}").unlink()
    (tmp_path / f"000004.{ending}").unlink()
    (tmp_path / f"000007.{ending}").unlink()
    shown = [50, 51, None, None, 54, 55, None, 57]

    assert shown == _shown(pattern, 0, 7, threads=threads)
    assert shown[2:7] == _shown(pattern, 2, 6, threads=threads)
    assert _told(pattern, 0, 8).startswith("ends after 8 frames, before frame 8")


@pytest.mark.parametrize("threads", [1, 3])
@pytest.mark.parametrize("g", ["1", "5"])
def test_a_damaged_ffv1_slice_is_never_concealed(tmp_path: Path, threads: int, g: str) -> None:
    path = damage(write_scan(tmp_path / "x.mkv", 12, "ffv1", "yuv420p", {**INTRA, "g": g}), 6)

    told = "frame 6 is damaged (a slice does not match its checksum)"
    assert told == _told(path, 0, 11, threads=threads)


@pytest.mark.parametrize("threads", [1, 3])
def test_damage_that_a_decoder_only_logs_is_found(tmp_path: Path, threads: int) -> None:
    """Without checksums FFmpeg decodes a frame with one byte changed, and logs where it ends."""
    options = {**INTRA, "slicecrc": "0"}
    path = damage(write_scan(tmp_path / "x.mkv", 12, "ffv1", "yuv422p10le", options), 6)
    assert len(read_with_program(path)) == 12

    told = _told(path, 0, 11, threads=threads)
    assert told.startswith("frame 6 is damaged (bytestream end mismatching")


@pytest.mark.parametrize("threads", [1, 3])
def test_damage_in_pictures_that_stand_alone_names_the_very_frame(
    tmp_path: Path, threads: int
) -> None:
    unchecked = write_scan(tmp_path / "x.mkv", 12, "ffv1", "yuv420p", {**INTRA, "slicecrc": "0"})
    prores = write_scan(tmp_path / "x.mov", 12, "prores_ks", "yuv422p10le")

    for path in (damage(unchecked, 6, much=True), damage(prores, 6, much=True)):
        assert _told(path, 0, 11, threads=threads).startswith("frame 6 is damaged (")
        assert list(range(7, 12)) == _shown(path, 7, 11, threads=threads)


def test_damage_in_pictures_that_lean_on_others_is_told_nearly(tmp_path: Path) -> None:
    leaning = {"level": "3", "g": "12", "slicecrc": "0", "coder": "range_tab"}
    ffv1 = damage(write_scan(tmp_path / "x.mkv", 12, "ffv1", "yuv420p", leaning), 6, much=True)
    mpeg = damage(write_scan(tmp_path / "y.mkv", 12, "mpeg2video", "yuv420p", {"g": "6"}), 6)

    assert _told(ffv1, 0, 11, threads=1).startswith("is damaged near frame 6 (")
    assert _told(mpeg, 0, 11).startswith("is damaged near frame 6 (")


def test_a_movie_that_is_cut_short_is_told(tmp_path: Path) -> None:
    index_first = {"movflags": "faststart"}
    prores = write_scan(
        tmp_path / "x.mov", 30, "prores_ks", "yuv422p10le", container_options=index_first
    )
    ffv1 = write_scan(tmp_path / "x.mkv", 30, "ffv1", "yuv420p", INTRA)
    h264 = write_scan(tmp_path / "x.ts", 60, "libx264", "yuv420p", {"g": "9", "bf": "0"})

    for path, last in ((prores, 29), (ffv1, 29), (h264, 59)):
        told = _told(cut_short(path, 0.7), 0, last)
        assert "before frame" in told or "damaged" in told, path


@pytest.mark.parametrize("threads", [1, 3])
@pytest.mark.parametrize(
    ("size", "pix_fmt", "words"),
    [
        ((176, 96), "gbrp10be", "frame 2 is 176x96 gbrp10le, and the scan is 160x96 gbrp10le"),
        ((160, 96), "rgb24", "frame 2 is 160x96 rgb24, and the scan is 160x96 gbrp10le"),
    ],
)
def test_a_file_of_another_raster_or_format_is_named(
    tmp_path: Path, threads: int, size: tuple[int, int], pix_fmt: str, words: str
) -> None:
    pattern = write_scan(tmp_path / "%d.dpx", 5, "dpx", "gbrp10be")
    (tmp_path / "2.dpx").write_bytes(next(encode_files([draw(2, *size, pix_fmt)], "dpx")))

    told = f"{tmp_path / '2.dpx'}: {words}"
    assert told == _told(pattern, 0, 4, threads=threads)


def test_a_damaged_or_empty_file_of_a_sequence_is_named(tmp_path: Path) -> None:
    pattern = write_scan(tmp_path / "%d.png", 5, "png", "rgb48be")
    data = bytearray((tmp_path / "3.png").read_bytes())
    data[len(data) // 2] ^= 0x5A
    (tmp_path / "3.png").write_bytes(data)

    assert _told(pattern, 0, 4).startswith(f"{tmp_path / '3.png'}: frame 3 is damaged (")
    (tmp_path / "3.png").write_bytes(b"")
    assert f"{tmp_path / '3.png'}: is empty" == _told(pattern, 0, 4)


def test_a_deflated_tiff_that_holds_other_bytes_than_its_checksum_is_of_is_damaged(
    tmp_path: Path,
) -> None:
    """FFmpeg decodes it without a word: noise is stored, not deflated, and any bytes will do."""
    chance = np.random.default_rng(5)
    for number in range(3):
        noise = chance.integers(0, 256, (96, 160, 3), np.uint8)
        path = tmp_path / f"{number:02}.tif"
        Image.fromarray(noise).save(path, compression="tiff_adobe_deflate")
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    pattern = tmp_path / "%02d.tif"
    whole = list(read_frames(probe(pattern), 0, 2))
    path.write_bytes(data)

    assert 3 == len(whole)
    with pytest.raises(ScanError, match="frame 2 is damaged") as caught:
        list(read_frames(probe(pattern), 0, 2))
    assert "a strip does not match its checksum" in str(caught.value)
    assert str(path) in str(caught.value)


def test_a_reader_that_is_left_early_leaves_nothing_running(tmp_path: Path) -> None:
    before = threading.active_count()
    for name, codec, options in (("x.mkv", "ffv1", INTRA), ("x.mp4", "libx264", {"g": "9"})):
        frames = read_frames(
            probe(write_scan(tmp_path / name, 30, codec, "yuv420p", options)), 0, 29, threads=3
        )
        next(frames)
        frames.close()

    assert before == threading.active_count()


def test_a_picture_of_a_movie_knows_its_position(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "x.mov", 5, "prores_ks", "yuv422p10le")

    assert [frame.pts for frame in read_frames(probe(path), 2, 4) if frame is not None] == [2, 3, 4]


def test_another_readers_trouble_is_not_taken_for_damage(tmp_path: Path) -> None:
    """FFmpeg's log is one for the whole program: a line is a hint, and the pictures decide."""
    path = write_scan(tmp_path / "x.mkv", 6, "ffv1", "yuv420p", INTRA)
    shown = []
    for frame in read_frames(probe(path), 0, 5, threads=1):
        assert frame is not None
        shown.append(read_frame(frame))
        av.logging.log(av.logging.ERROR, "another", "trouble elsewhere")

    assert list(range(6)) == shown
