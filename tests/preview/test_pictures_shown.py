"""The pictures of an excerpt are its film frames, each once, in shape and colour as they are.

Files are decoded by the ffmpeg program.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import av
import numpy as np
import pytest
from looked_at import decoded, made
from numbered import encode_files, read_with_program, write_scan

from retime.light.format import PictureFormat
from retime.preview.pictures import shown_size

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

RGB = ((200, 40, 60), (30, 180, 90), (250, 250, 250), (0, 0, 0), (128, 128, 128), (20, 30, 220))
"""Red, green and blue in 8 bits of full range."""
WEIGHTS = {1: (0.2126, 0.0722), 6: (0.299, 0.114)}
"""Red's and blue's part of luma by code of matrix: Rec. ITU-T H.273."""


def numbers(paths: list[Path]) -> list[int | None]:
    return [read_with_program(path)[0] for path in paths]


def test_every_film_frame_of_an_excerpt_has_a_picture_of_its_own(tmp_path: Path) -> None:
    scan = write_scan(tmp_path / "scan.mkv", 50)
    preview = made(scan, to=tmp_path / "look", frames="11-30", rates="24", speeds="20")
    (excerpt,) = preview.values["excerpts"]

    assert (11, 20, "pictures/e1") == (excerpt["first"], excerpt["frames"], excerpt["folder"])
    assert [f"{k:05}.jpg" for k in range(20)] == [one.name for one in preview.pictures("e1")]
    assert list(range(11, 31)) == numbers(preview.pictures("e1"))


def test_a_missing_file_shows_what_was_before_it(tmp_path: Path) -> None:
    scan = write_scan(tmp_path / "scan" / "%04d.png", 20, "png")
    for gone in (3, 4, 9):
        (tmp_path / "scan" / f"{gone:04}.png").unlink()
    preview = made(scan, to=tmp_path / "look", frames="3-12", rates="24", speeds="20")

    # What is missing at the very beginning is what comes next.
    assert [5, 5, 5, 6, 7, 8, 8, 10, 11, 12] == numbers(preview.pictures("e1"))


def test_film_frames_that_a_transfer_repeats_come_once(tmp_path: Path) -> None:
    # 20 in 24: every fifth film frame twice, as the trade writes it 1:1:2:1:1.
    film = [frame for frame in range(30) for _ in range(2 if frame % 5 == 2 else 1)]
    write_scan(tmp_path / "transfer.mkv", film)
    (tmp_path / "map.yaml").write_text(
        "format: retime-map/1\nfilm: Twice\ngauge: 35mm\n"
        "reels: [{reel: 1, scan: transfer.mkv, cadence: '1:1:2:1:1 from 0'}]\n"
        "versions: {v: {speed: 20 fps}}\ndeliverables: {}\n"
    )
    preview = made(tmp_path / "map.yaml", to=tmp_path / "look", frames="1/12-23", rates="24")
    (excerpt,) = preview.values["excerpts"]
    told = [film.index(frame) for frame in range(10, 20)]

    assert list(range(10, 20)) == numbers(preview.pictures("e1"))
    assert told == excerpt["numbers"]
    assert told[0] == excerpt["first"]
    assert 10 == excerpt["place"], "film frames are counted, not the transfer's"


def test_the_place_of_an_excerpt_counts_from_the_reels_first_of_picture(tmp_path: Path) -> None:
    write_scan(tmp_path / "scan.mkv", 30)
    (tmp_path / "map.yaml").write_text(
        "format: retime-map/1\nfilm: Led\ngauge: 35mm\n"
        "reels: [{reel: 1, scan: scan.mkv, first: 6}]\n"
        "versions: {v: {speed: 20 fps}}\ndeliverables: {}\n"
    )
    preview = made(tmp_path / "map.yaml", to=tmp_path / "look", frames="1/12-23", rates="24")
    (excerpt,) = preview.values["excerpts"]

    assert (12, 6) == (excerpt["first"], excerpt["place"])


def flat(path: Path, planes: list[NDArray[np.uint16]], pixel_format: str, **tags: int) -> Path:
    """Write two frames of the same samples."""
    height, width = planes[0].shape
    frame = av.VideoFrame(width, height, pixel_format)
    for plane, values in zip(frame.planes, planes, strict=True):
        kind = np.uint8 if plane.line_size < 2 * plane.width else np.dtype("<u2")
        lines = np.frombuffer(memoryview(plane), np.uint8).reshape(plane.height, plane.line_size)
        lines.view(kind)[:, : plane.width] = values
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = width, height, pixel_format
        for name, value in tags.items():
            setattr(stream.codec_context, name, value)
        for number in range(2):
            frame.pts = number
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


@pytest.mark.parametrize("matrix", WEIGHTS)
def test_colours_are_those_that_the_tags_of_the_scan_mean(matrix: int, tmp_path: Path) -> None:
    """Ten bits of narrow range by Rec. ITU-R BT.709 and BT.601, made by their equations."""
    red_weight, blue_weight = WEIGHTS[matrix]
    signals = np.array(RGB) / 255
    red, green, blue = signals.T
    luma = red_weight * red + (1 - red_weight - blue_weight) * green + blue_weight * blue
    planes = [
        np.kron(codes.round()[None, :], np.ones((64, 32))).astype(np.uint16)
        for codes in (
            64 + 876 * luma,
            512 + 896 * (blue - luma) / (2 * (1 - blue_weight)),
            512 + 896 * (red - luma) / (2 * (1 - red_weight)),
        )
    ]
    tags = {"colorspace": matrix, "color_range": 1}
    scan = flat(tmp_path / "flat.mkv", planes, "yuv444p10le", **tags)
    preview = made(scan, to=tmp_path / "look", frames="0-1", rates="24", speeds="20")
    width = 32 * len(RGB)
    for file in (preview.pictures("e1")[0], next((tmp_path / "look" / "delivered").iterdir())):
        seen = decoded(file, width, 64)[32, 16::32].astype(int)

        assert np.abs(seen - np.array(RGB)).max() <= 4, file


@pytest.mark.parametrize(
    ("pixel_format", "colour_range", "black", "white"),
    [("gray", 0, 0, 255), ("gray10le", 1, 64, 940), ("gray16le", 2, 0, 65535)],
)
def test_grey_is_as_dark_and_as_bright_as_its_range_says(
    pixel_format: str, colour_range: int, black: int, white: int, tmp_path: Path
) -> None:
    codes = np.kron(np.array([[black, white]]), np.ones((64, 32))).astype(np.uint16)
    scan = flat(tmp_path / "flat.mkv", [codes], pixel_format, color_range=colour_range)
    preview = made(scan, to=tmp_path / "look", frames="0-1", rates="24", speeds="20")

    for file in (preview.pictures("e1")[0], next((tmp_path / "look" / "delivered").iterdir())):
        seen = decoded(file, 64, 64)[32, [12, 52]].astype(int)

        assert np.abs(seen - [[0] * 3, [255] * 3]).max() <= 2, file


@pytest.mark.parametrize(
    ("raster", "sample_aspect", "width", "shown"),
    [
        ((2048, 1536), None, 640, (640, 480)),
        # Rec. ITU-R BT.601's 720x576 at 4:3, of 704 active samples: 12:11, common practice.
        ((720, 576), Fraction(12, 11), 640, (640, 470)),
        ((1828, 1556), Fraction(2), 640, (640, 272)),
        ((320, 240), None, 640, (320, 240)),
        ((1000, 2000), None, 500, (500, 1000)),
        ((4000, 20), None, 640, (640, 16)),
    ],
)
def test_pictures_have_square_pixels_and_are_never_wider_than_asked(
    raster: tuple[int, int],
    sample_aspect: Fraction | None,
    width: int,
    shown: tuple[int, int],
) -> None:
    picture = PictureFormat(
        width=raster[0], height=raster[1], pixel_format="gray", sample_aspect=sample_aspect
    )

    assert shown == shown_size(picture, width)


@pytest.mark.parametrize(
    ("name", "codec", "pixel_format"),
    [
        ("%04d.jpg", "mjpeg", "yuvj420p"),
        ("%04d.dpx", "dpx", "gbrp10be"),
        ("%04d.tif", "tiff", "rgb48le"),
        ("%04d.exr", "exr", "gbrpf32le"),
        ("%04d.jp2", "jpeg2000", "gray16le"),
        ("scan.mov", "prores_ks", "yuva444p10le"),
    ],
)
def test_scans_of_every_kind_are_shown(
    name: str, codec: str, pixel_format: str, tmp_path: Path
) -> None:
    folder = tmp_path / "scan"
    folder.mkdir()
    scan = write_scan(folder / name, 4, codec, pixel_format)
    preview = made(scan, to=tmp_path / "look", frames="1-3", rates="24", speeds="20")

    assert [1, 2, 3] == numbers(preview.pictures("e1"))


@pytest.mark.parametrize("pixel_format", ["pal8", "rgb48be"])
def test_what_is_not_yuv_is_shown_too(pixel_format: str, tmp_path: Path) -> None:
    folder = tmp_path / "scan"
    folder.mkdir()
    grey = np.kron(np.array([[0, 255]]), np.ones((64, 32))).astype(np.uint8)
    rgb = av.VideoFrame.from_ndarray(grey, format="gray").reformat(format="rgb24")
    frame = _paletted(grey) if pixel_format == "pal8" else rgb.reformat(format=pixel_format)
    (data,) = encode_files([frame], "png")
    for number in range(3):
        (folder / f"{number:03}.png").write_bytes(data)
    preview = made(folder / "%03d.png", to=tmp_path / "look", rates="24", speeds="20")
    seen = decoded(preview.pictures("e1")[0], 64, 64)[32, [12, 52]].astype(int)

    assert np.abs(seen - [[0] * 3, [255] * 3]).max() <= 3


def _paletted(grey: NDArray[np.uint8]) -> av.VideoFrame:
    """Return a picture whose samples are 0 for black and 1 for white, by its palette."""
    frame = av.VideoFrame(grey.shape[1], grey.shape[0], "pal8")
    samples, palette = (np.frombuffer(memoryview(plane), np.uint8) for plane in frame.planes)
    samples.reshape(grey.shape[0], -1)[:, : grey.shape[1]] = grey // 255
    palette[:8] = np.array([0xFF000000, 0xFFFFFFFF], "<u4").view(np.uint8)
    return frame
