"""What a deliverable's pictures are to be: pixel format, matrix, range, or a refusal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import av
import numpy as np
import pytest
from msgspec.structs import replace

from retime.edition.target import check_raster, one_raster, target_format
from retime.errors import NotationError
from retime.light.format import PictureFormat
from retime.picture.black import black_picture
from retime.picture.convert import Converter
from retime.picture.formats import encodable_formats, lossless_format
from retime.profile.shelf import shelf

if TYPE_CHECKING:
    from collections.abc import Sequence

YUV = PictureFormat(
    width=160, height=96, pixel_format="yuv422p10le", primaries=1, transfer=1, matrix=1, range=1
)


def _target(profile: str, *pictures: PictureFormat) -> PictureFormat:
    wanted = shelf().load(profile)
    target = target_format(pictures, wanted)
    check_raster(pictures, target, wanted)
    return target


@pytest.mark.parametrize(
    ("profile", "scan", "expected"),
    [
        ("ffv1-master", "yuv422p10le", "yuv422p10le"),
        ("ffv1-master", "yuvj420p", "yuv420p"),
        ("ffv1-master", "uyvy422", "yuv422p"),
        ("ffv1-master", "rgb24", "bgr0"),
        ("ffv1-master", "rgb48be", "gbrp16le"),
        ("ffv1-master", "gbrp10be", "gbrp10le"),
        ("ffv1-master", "gray16be", "gray16le"),
        ("prores-mezzanine", "yuv420p", "yuv422p10le"),
        ("h264-viewing", "yuv444p12le", "yuv420p"),
        ("tiff-sequence", "rgb48be", "rgb48le"),
        ("tiff-sequence", "gray16be", "gray16le"),
        ("tiff-sequence", "gray10le", "gray16le"),
        ("dpx-sequence", "rgb24", "gbrp10be"),
        ("dpx-sequence", "gbrp16le", "rgb48be"),
        ("as-scanned", "xyz12le", "xyz12le"),
    ],
)
def test_the_pixel_format_is_one_that_the_encoder_takes_and_loses_least(
    profile: str, scan: str, expected: str
) -> None:
    assert expected == _target(profile, replace(YUV, pixel_format=scan)).pixel_format


def test_the_deepest_scan_decides_the_depth() -> None:
    shallow = replace(YUV, pixel_format="yuv422p")

    assert "yuv422p10le" == _target("ffv1-master", shallow, YUV).pixel_format


@pytest.mark.parametrize(
    ("profile", "pixel_format", "matrix", "expected"),
    [
        ("prores-mezzanine", "yuv422p10le", 5, 5),
        ("prores-mezzanine", "gbrp10le", 0, 1),  # RGB becomes BT.709's YUV
        ("prores-mezzanine", "gray16le", 2, 2),  # grey has no matrix: nothing is claimed
        ("h264-viewing", "gray16be", 0, 1),  # as PNG tells it: no YUV can be called RGB
        ("dpx-sequence", "yuv422p10le", 5, 0),
    ],
)
def test_the_matrix_is_the_scans_or_that_of_the_conversion(
    profile: str, pixel_format: str, matrix: int, expected: int
) -> None:
    scan = replace(YUV, pixel_format=pixel_format, matrix=matrix)

    assert expected == _target(profile, scan).matrix


def test_range_is_narrowed_for_a_codec_that_is_read_so_and_kept_otherwise() -> None:
    full = replace(YUV, range=2)

    assert 1 == _target("prores-mezzanine", full).range
    assert 1 == _target("disc-sd-625", full).range
    assert 2 == _target("ffv1-master", full).range
    assert 2 == _target("h264-viewing", full).range


@pytest.mark.parametrize(
    ("profile", "pictures", "text"),
    [
        ("dpx-sequence", [replace(YUV, matrix=2)], "does not say by which matrix its YUV was made"),
        (
            "dpx-sequence",
            [replace(YUV, pixel_format="gbrp16le", matrix=0), replace(YUV, matrix=2)],
            "does not say by which matrix its YUV was made",
        ),
        ("prores-mezzanine", [replace(YUV, pixel_format="xyz12le")], "the scan is in CIE XYZ"),
        ("ffv1-master", [replace(YUV, pixel_format="monow")], "has none that holds it"),
        ("h264-viewing", [replace(YUV, width=159)], "159x96 does not divide into the chroma"),
    ],
)
def test_what_would_have_to_be_guessed_or_lost_is_refused(
    profile: str, pictures: Sequence[PictureFormat], text: str
) -> None:
    with pytest.raises(NotationError, match=text):
        _target(profile, *pictures)


@pytest.mark.parametrize(
    ("other", "text"),
    [
        (replace(YUV, width=320), "the first scan is 160x96 and scan 2 is 320x96"),
        (replace(YUV, transfer=13), "colour transfer has code 1 and that of scan 2 has 13"),
        (replace(YUV, primaries=9), "colour primaries has code 1 and that of scan 2 has 9"),
    ],
)
def test_reels_that_no_conversion_brings_together_are_refused(
    other: PictureFormat, text: str
) -> None:
    with pytest.raises(NotationError, match=text):
        one_raster([YUV, other])


def test_reels_of_which_one_leaves_its_colour_unsaid_are_taken() -> None:
    one_raster([YUV, replace(YUV, transfer=2, primaries=2)])


@pytest.mark.parametrize(
    "name",
    [
        "bgr24",
        "gbrp",
        "gbrp10be",
        "gbrp12be",
        "gray10be",
        "gray16be",
        "nv12",
        "rgb24",
        "rgb48be",
        "rgba",
        "uyvy422",
        "yuv422p10be",
        "yuyv422",
    ],
)
def test_a_lossless_format_gives_back_every_sample(name: str) -> None:
    kept = lossless_format(name, encodable_formats("ffv1"))
    assert kept is not None
    source = replace(YUV, pixel_format=name, range=2, matrix=5)
    noise = _noise(name)

    there = Converter(source, replace(source, pixel_format=kept)).convert(noise)
    back = Converter(replace(source, pixel_format=kept), source).convert(there)

    assert _samples(noise) == _samples(back)


NARROW, FULL = 1, 2


@pytest.mark.parametrize(
    ("pixel_format", "colour_range", "luma", "chroma"),
    [
        # Rec. ITU-R BT.709-6, table 4: narrow black is 16 in 8 bits, 64 in 10, chroma 128 and 512.
        ("yuv420p", NARROW, 16, 128),
        ("yuv422p10le", NARROW, 64, 512),
        ("yuv420p", FULL, 0, 128),
        ("gray16le", 0, 0, None),
        ("gray10le", NARROW, 64, None),
        ("gbrp10le", FULL, 0, 0),
    ],
)
def test_black_is_black_in_its_own_range(
    pixel_format: str, colour_range: int, luma: int, chroma: int | None
) -> None:
    black = black_picture(replace(YUV, pixel_format=pixel_format, range=colour_range))

    values = [_values(black, place) for place in range(len(black.planes))]
    assert [{luma}, *([{chroma}] * 2 if chroma is not None else [])] == values


# Rec. ITU-R BT.709-6, table 4: narrow black and white are 16 and 235 in 8 bits, 64 and 940 in 10.
@pytest.mark.parametrize(
    ("scan", "grey", "pixel_format", "expected"),
    [
        ("gray16le", 65535, "gbrp16le", 65535),
        ("gray16le", 32768, "gbrp16le", 32768),
        ("gray16le", 0, "gbrp16le", 0),
        ("gray10le", 1023, "gbrp16le", 65535),
        ("gray", 255, "gbrp10le", 1023),
        ("gray16le", 65535, "yuv422p10le", 940),
        ("gray16be", 65535, "yuv422p10le", 940),
        ("gray12le", 4095, "yuv422p10le", 940),
        ("gray10le", 512, "yuv422p10le", 502),  # 64 + 876 x 512/1023 = 502.4
        ("gray", 255, "yuv422p10le", 940),
        ("gray16le", 0, "yuv422p10le", 64),
        ("gray16le", 65535, "yuv420p", 235),
        ("gray", 0, "yuv420p", 16),
    ],
)
def test_grey_becomes_the_same_grey_in_every_format(
    scan: str, grey: int, pixel_format: str, expected: int
) -> None:
    source = replace(YUV, pixel_format=scan, matrix=2, range=0)
    target_range = NARROW if pixel_format.startswith("yuv") else FULL
    target = replace(source, pixel_format=pixel_format, range=target_range)

    made = Converter(source, target).convert(_flat(scan, grey))

    assert pixel_format == made.format.name
    assert {expected} == _values(made, 0)
    rest = expected if pixel_format.startswith("gbrp") else 128 if "10" not in pixel_format else 512
    assert [{rest}] * 2 == [_values(made, 1), _values(made, 2)]


@pytest.mark.parametrize(
    ("grey", "pixel_format", "expected"),
    [(235, "gbrp16le", 65535), (16, "gbrp16le", 0), (235, "yuv422p10le", 940), (8, "yuv420p", 8)],
)
def test_grey_that_is_told_to_be_narrow_is_taken_so(
    grey: int, pixel_format: str, expected: int
) -> None:
    source = replace(YUV, pixel_format="gray", range=NARROW)
    target_range = NARROW if pixel_format.startswith("yuv") else FULL

    made = Converter(
        source, replace(source, pixel_format=pixel_format, range=target_range)
    ).convert(_flat("gray", grey))

    assert {expected} == _values(made, 0)


def _flat(pixel_format: str, value: int) -> av.VideoFrame:
    frame = av.VideoFrame(160, 96, pixel_format)
    kind = np.uint8 if _bytes(frame) == 1 else np.dtype(">u2" if "be" in pixel_format else "<u2")
    np.frombuffer(memoryview(frame.planes[0]), np.uint8).view(kind)[:] = value
    return frame


@pytest.mark.parametrize(
    ("luma", "pixel_format", "expected"),
    [
        (64, "gbrp10le", 0),
        (502, "gbrp10le", 512),  # 1023 x (502 - 64)/876 = 511.5
        (940, "gbrp10le", 1023),
        (940, "rgb48le", 65535),
        (940, "gbrp12le", 4095),
    ],
)
def test_colourless_yuv_becomes_rgb_of_the_same_level(
    luma: int, pixel_format: str, expected: int
) -> None:
    frame = av.VideoFrame(160, 96, "yuv422p10le")
    for plane, value in zip(frame.planes, (luma, 512, 512), strict=True):
        np.frombuffer(memoryview(plane), np.uint16)[:] = value
    target = replace(YUV, pixel_format=pixel_format, matrix=0, range=FULL)

    made = Converter(YUV, target).convert(frame)

    assert {expected} == _values(made, 0)


def test_reels_of_two_matrices_are_brought_to_one() -> None:
    # Primary red in 8 bits, narrow: Y'CbCr of (235, 16, 16) is 81, 90, 240 by Rec. ITU-R BT.601
    # and 63, 102, 240 by BT.709 (common practice).
    red = av.VideoFrame(160, 96, "yuv444p")
    for plane, value in zip(red.planes, (81, 90, 240), strict=True):
        np.frombuffer(memoryview(plane), np.uint8)[:] = value
    old = replace(YUV, pixel_format="yuv444p", matrix=6)

    new = Converter(old, replace(old, matrix=1)).convert(red)
    same = Converter(old, replace(old, matrix=5)).convert(red)  # other code, same figures
    unsaid = Converter(replace(old, matrix=2), replace(old, matrix=1)).convert(red)

    for place, expected in enumerate((63, 102, 240)):
        (value,) = _values(new, place)
        assert abs(expected - value) <= 1
    assert same is red
    assert unsaid is red


def _values(frame: av.VideoFrame, place: int) -> set[int]:
    """Return the values that stand in a plane, without what pads its lines."""
    plane, wide = frame.planes[place], _bytes(frame)
    samples = np.frombuffer(memoryview(plane), np.uint8 if wide == 1 else np.uint16)
    lines = samples.reshape(plane.height, -1)[:, : plane.width]
    return {int(value) for value in np.unique(lines)}


def _noise(pixel_format: str) -> av.VideoFrame:
    """Return a picture of random samples in a pixel format."""
    random = np.random.default_rng(1895)
    grey = random.integers(0, 1 << 16, (96, 160 * 3), np.uint16).reshape(96, 160, 3)
    colours = av.VideoFrame.from_ndarray(grey, format="rgb48le")
    return colours.reformat(format=pixel_format)


def _samples(frame: av.VideoFrame) -> list[bytes]:
    """Return every plane's lines, without what pads them."""
    used = {"nv12": 160, "uyvy422": 320, "yuyv422": 320, "rgba": 640, "rgb48be": 960}
    lines = []
    for plane in frame.planes:
        wide = used.get(frame.format.name) or (
            480 if frame.format.name in {"rgb24", "bgr24"} else plane.width * _bytes(frame)
        )
        data = bytes(plane)
        lines += [
            data[row * plane.line_size : row * plane.line_size + wide]
            for row in range(plane.height)
        ]
    return lines


def _bytes(frame: av.VideoFrame) -> int:
    return (max(part.bits for part in frame.format.components) + 7) // 8
