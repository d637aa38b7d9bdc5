"""Both ends of a scale stay its ends when codes become deeper, or RGB becomes YUV."""

from __future__ import annotations

import av
import numpy as np
import pytest

from retime.light.codes import luma_scale
from retime.light.format import PictureFormat
from retime.picture.convert import Converter
from retime.picture.depth import code_table
from retime.picture.samples import sample_form, samples

NARROW, FULL = 1, 2
RGB, BT709 = 0, 1


def test_a_table_keeps_black_and_white_and_rounds_half_up() -> None:
    full = code_table(8, luma_scale(8, narrow=False), 10, luma_scale(10, narrow=False))
    narrow = code_table(8, luma_scale(8, narrow=True), 10, luma_scale(10, narrow=True))

    assert [0, 4, 514, 1023] == full[[0, 1, 128, 255]].tolist()  # 128 x 1023/255 = 513.5
    assert [0, 64, 940, 1020] == narrow[[0, 16, 235, 255]].tolist()


# Rec. ITU-R BT.709-6, items 3.2 and 5: Y' of red is 0.2126, so luma 64 + 876 x 0.2126 = 250.2, and
# of blue 0.0722; C'B of red is -0.2126/1.8556, so 512 - 896 x 0.11457 = 409.3; C'R of blue
# -0.0722/1.5748, so 512 - 896 x 0.04585 = 470.9.
@pytest.mark.parametrize("pixel_format", ["rgb24", "gbrp10le", "gbrp12be", "rgb48le", "gbrp16le"])
@pytest.mark.parametrize(
    ("red", "green", "blue", "expected"),
    [
        (1, 1, 1, (940, 512, 512)),
        (0, 0, 0, (64, 512, 512)),
        (1, 0, 0, (250, 409, 960)),
        (0, 0, 1, (127, 960, 471)),
    ],
)
def test_rgb_of_any_depth_becomes_the_yuv_of_the_standard(
    pixel_format: str, red: int, green: int, blue: int, expected: tuple[int, int, int]
) -> None:
    source = PictureFormat(width=64, height=32, pixel_format=pixel_format, matrix=RGB, range=FULL)
    target = PictureFormat(
        width=64, height=32, pixel_format="yuv444p10le", matrix=BT709, range=NARROW
    )

    made = Converter(source, target).convert(colour(source, red, green, blue))

    assert list(expected) == [next(iter(found)) for found in levels(made)]
    assert [1, 1, 1] == [len(found) for found in levels(made)]


@pytest.mark.parametrize(
    ("own", "wanted", "white"),
    [
        ("rgb24", "gbrp10be", 1023),
        ("bgr0", "gbrp10le", 1023),
        ("rgb24", "rgb48be", 65535),
        ("gbrp10be", "rgb48le", 65535),
        ("gbrp16le", "gbrp10be", 1023),
    ],
)
def test_the_white_of_rgb_stays_white_at_another_depth(own: str, wanted: str, white: int) -> None:
    source = PictureFormat(width=64, height=32, pixel_format=own, matrix=RGB, range=FULL)
    target = PictureFormat(width=64, height=32, pixel_format=wanted, matrix=RGB, range=FULL)

    made = Converter(source, target).convert(colour(source, 1, 1, 1))

    assert wanted == made.format.name
    assert [{white}] * len(made.planes) == levels(made)


def colour(picture: PictureFormat, red: int, green: int, blue: int) -> av.VideoFrame:
    """Return a picture of one colour at the ends of the scale."""
    frame = av.VideoFrame(picture.width, picture.height, picture.pixel_format)
    form = sample_form(picture.pixel_format)
    assert form is not None
    top = (1 << max(part.bits for part in frame.format.components)) - 1
    if len(frame.planes) > 1:
        for plane, value in zip(frame.planes, (green, blue, red), strict=True):
            samples(plane, form)[:] = value * top
        return frame
    pixels = samples(frame.planes[0], form).reshape(picture.height, -1, form.per_pixel)
    order = (blue, green, red, 0) if picture.pixel_format.startswith("bgr") else (red, green, blue)
    pixels[:] = [value * top for value in order]
    return frame


def levels(frame: av.VideoFrame) -> list[set[int]]:
    """Return the codes that stand in each plane."""
    form = sample_form(frame.format.name)
    assert form is not None
    return [set(np.unique(samples(plane, form)).tolist()) for plane in frame.planes]
