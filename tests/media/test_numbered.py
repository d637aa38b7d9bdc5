"""The numbered pictures that other tests read back must themselves be trustworthy."""

from __future__ import annotations

from typing import TYPE_CHECKING

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numbered import (
    LARGEST,
    SIZE,
    draw,
    draw_grey,
    read,
    read_frame,
    read_movie,
    read_sequence,
    read_with_program,
    write_scan,
)

if TYPE_CHECKING:
    from pathlib import Path


@given(st.integers(0, LARGEST), st.integers(60, 400), st.integers(36, 300))
def test_every_number_is_read_back_at_any_size(number: int, width: int, height: int) -> None:
    assert number == read(draw_grey(number, width, height))


@pytest.mark.parametrize("number", [0, 1, 0xFFFF, LARGEST])
@pytest.mark.parametrize("name", ["yuv420p", "yuv422p10le", "gbrp10le", "rgb48be", "gray16le"])
def test_every_pixel_format_shows_the_number(number: int, name: str) -> None:
    assert number == read_frame(draw(number, pixel_format=name))


def test_black_bars_around_the_picture_are_found() -> None:
    padded = np.pad(draw_grey(1234, *SIZE), ((20, 20), (31, 33)))

    assert read(padded) == 1234


def test_one_field_of_a_picture_shows_the_number() -> None:
    assert read(draw_grey(77, *SIZE)[1::2]) == 77


def test_a_blend_of_two_pictures_shows_no_number() -> None:
    blend = draw_grey(5, *SIZE) / 510 + draw_grey(6, *SIZE) / 510

    assert read(blend) is None


def test_a_picture_without_the_pattern_shows_no_number() -> None:
    assert read(np.zeros((96, 160), np.uint8)) is None
    assert read(np.random.default_rng(1).integers(0, 255, (96, 160), np.uint8)) is None


def test_one_wrong_cell_is_told_by_the_check_row() -> None:
    picture = draw_grey(5, *SIZE)
    cell = picture[16:32, 16:32]
    cell[:] = 255 - cell

    assert read(picture) is None


@pytest.mark.parametrize(
    ("name", "codec", "pix_fmt", "options"),
    [
        ("low.mp4", "libx264", "yuv420p", {"crf": "35"}),
        ("film.mov", "prores_ks", "yuv422p10le", {}),
        ("film.mkv", "ffv1", "gray10le", {}),
    ],
)
def test_both_readers_read_a_movie_back(
    tmp_path: Path, name: str, codec: str, pix_fmt: str, options: dict[str, str]
) -> None:
    path = write_scan(tmp_path / name, 7, codec, pix_fmt, options)

    assert list(range(7)) == read_movie(path)
    assert list(range(7)) == read_with_program(path)


def test_a_movie_survives_half_size(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "film.mp4", [3, 9], "libx264", "yuv420p")
    small = [frame.reformat(80, 48) for frame in _frames(path)]

    assert [read_frame(frame) for frame in small] == [3, 9]


def _frames(path: Path) -> list[av.VideoFrame]:
    with av.open(str(path)) as container:
        return list(container.decode(video=0))


@pytest.mark.parametrize(
    ("ending", "codec", "pix_fmt"),
    [
        ("dpx", "dpx", "gbrp10be"),
        ("tif", "tiff", "rgb48le"),
        ("png", "png", "rgb48be"),
    ],
)
def test_numbered_files_are_written_and_read_back(
    tmp_path: Path, ending: str, codec: str, pix_fmt: str
) -> None:
    pattern = tmp_path / "reel" / f"%06d.{ending}"
    write_scan(pattern, [8, 4, 2], codec, pix_fmt, start_number=100)
    files = sorted(pattern.parent.iterdir())

    assert [f"{number:06}.{ending}" for number in (100, 101, 102)] == [one.name for one in files]
    assert read_sequence(files) == [8, 4, 2]
    assert read_with_program(pattern, before=["-start_number", "100"]) == [8, 4, 2]
