"""Pictures scaled into another raster: levels stay, nothing shifts, black is black beside them."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, TypeAlias

import av
import numpy as np
import pytest
from msgspec.structs import replace

from retime.errors import NotationError
from retime.light.format import PictureFormat
from retime.light.raster import Fit
from retime.picture.convert import Converter
from retime.picture.fitting import fitted_format, fitting_of
from retime.picture.samples import sample_form, samples

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from retime.picture.samples import Samples

    Values: TypeAlias = NDArray[np.float64]

NARROW, FULL = 1, 2
SCAN = PictureFormat(width=200, height=150, pixel_format="gray", matrix=2, range=0)
WIDE = replace(SCAN, width=320, height=180, sample_aspect=Fraction(1), fit=Fit.PAD)


def scan(pixel_format: str, colour_range: int = 0, matrix: int = 2) -> PictureFormat:
    return replace(SCAN, pixel_format=pixel_format, range=colour_range, matrix=matrix)


def wide(
    pixel_format: str, colour_range: int = 0, matrix: int = 2, fit: Fit = Fit.PAD
) -> PictureFormat:
    return replace(WIDE, pixel_format=pixel_format, range=colour_range, matrix=matrix, fit=fit)


def planes(frame: av.VideoFrame) -> list[Samples]:
    form = sample_form(frame.format.name)
    assert form is not None
    return [samples(plane, form) for plane in frame.planes]


def flat(picture: PictureFormat, *levels: int) -> av.VideoFrame:
    """Return a picture of one level in each plane, or in each component where they are packed."""
    frame = av.VideoFrame(picture.width, picture.height, picture.pixel_format)
    for place, plane in enumerate(planes(frame)):
        if len(frame.planes) > 1 or len(levels) == 1:
            plane[:] = levels[place]
        else:
            plane.reshape(picture.height, -1, len(levels))[:] = levels
    return frame


def drawn(picture: PictureFormat, values: NDArray[np.integer]) -> av.VideoFrame:
    """Return a grey picture of values, shape (height, width)."""
    frame = av.VideoFrame(picture.width, picture.height, picture.pixel_format)
    planes(frame)[0][:] = values
    return frame


# White, black and neutral: Rec. ITU-R BT.709-6, table 4, narrow 235, 16, 128 in 8 bits and four
# times as much in 10; Rec. ITU-T H.273, section 8.3, full: all of the scale.
@pytest.mark.parametrize(
    ("source", "levels", "target", "expected", "black"),
    [
        (scan("gray"), (255,), wide("gray"), (255,), (0,)),
        (scan("gray"), (93,), wide("gray"), (93,), (0,)),
        (scan("gray10le"), (700,), wide("gray10le"), (700,), (0,)),
        (scan("gray16be"), (65535,), wide("gray16le"), (65535,), (0,)),
        (scan("gray"), (255,), wide("gray16le"), (65535,), (0,)),
        (scan("gray", NARROW), (235,), wide("gray", NARROW), (235,), (16,)),
        (scan("gray"), (255,), wide("yuv422p10le", NARROW), (940, 512, 512), (64, 512, 512)),
        (scan("gray16le"), (65535,), wide("yuv420p", NARROW), (235, 128, 128), (16, 128, 128)),
        (
            scan("yuv420p", NARROW, 1),
            (235, 16, 240),
            wide("yuv422p10le", NARROW, 1),
            (940, 64, 960),
            (64, 512, 512),
        ),
        (
            scan("yuv420p", FULL, 1),
            (255, 128, 128),
            wide("yuv444p10le", FULL, 1),
            (1023, 512, 512),
            (0, 512, 512),
        ),
        (
            scan("yuv422p16le", NARROW, 1),
            (60160, 32768, 32768),
            wide("yuv422p10le", NARROW, 1),
            (940, 512, 512),
            (64, 512, 512),
        ),
        (
            scan("yuv422p10le", NARROW, 1),
            (940, 512, 512),
            wide("gbrp10be", FULL, 0),
            (1023, 1023, 1023),
            (0, 0, 0),
        ),
        (scan("rgb24", FULL, 0), (255, 0, 51), wide("gbrp10be", FULL, 0), (0, 205, 1023), (0,) * 3),
        (scan("rgb48be", FULL, 0), (9, 8, 7), wide("gbrp16le", FULL, 0), (8, 7, 9), (0, 0, 0)),
        (
            scan("rgb24", FULL, 0),
            (255, 255, 255),
            wide("yuv422p10le", NARROW, 1),
            (940, 512, 512),
            (64, 512, 512),
        ),
    ],
    ids=lambda one: one.pixel_format if isinstance(one, PictureFormat) else None,
)
@pytest.mark.parametrize("fit", [Fit.PAD, Fit.FILL])
def test_a_constant_picture_stays_constant_and_black_stands_beside_it(  # noqa: PLR0913, PLR0917
    source: PictureFormat,
    levels: Sequence[int],
    target: PictureFormat,
    expected: Sequence[int],
    black: Sequence[int],
    fit: Fit,
) -> None:
    made = Converter(source, replace(target, fit=fit)).convert(flat(source, *levels))

    assert (320, 180, target.pixel_format) == (made.width, made.height, made.format.name)
    for plane, level, dark in zip(planes(made), expected, black, strict=True):
        across = plane.shape[1] // 8  # 200x150 is 240x180 with 40 beside it, an eighth of 320
        inside = plane[:, across:-across]
        beside = np.concatenate([plane[:, :across], plane[:, -across:]], axis=1)
        assert {level} == set(np.unique(inside).tolist())
        assert {dark if fit is Fit.PAD else level} == set(np.unique(beside).tolist())


def lanczos(count: int, made: int) -> Values:
    """Return the weights of a Lanczos kernel of three lobes, shape (made, count).

    K. Turkowski, "Filters for Common Resampling Tasks", 1990: sinc(x) sinc(x/3), stretched where
    fewer samples are made; the middle of the first sample stands on that of the first, from memory.
    """
    ratio = count / made
    stretch = max(1.0, ratio)
    middles = (np.arange(made)[:, None] + 0.5) * ratio - 0.5
    weights = np.zeros((made, count))
    for near in range(-int(4 * stretch), count + int(4 * stretch)):
        x = (near - middles[:, 0]) / stretch
        weight = np.where(abs(x) < 3, np.sinc(x) * np.sinc(x / 3), 0)
        weights[:, min(max(near, 0), count - 1)] += weight
    scaled: Values = weights / weights.sum(axis=1, keepdims=True)
    return scaled


@pytest.mark.parametrize(("pixel_format", "top"), [("gray", 255), ("gray10le", 1023)])
@pytest.mark.parametrize("size", [(320, 180), (80, 60), (440, 330), (200, 112)])
def test_scaling_is_lanczos_to_within_two_codes(
    pixel_format: str, top: int, size: tuple[int, int]
) -> None:
    y, x = np.mgrid[0:150, 0:200]
    wave = np.rint(top * (0.5 + 0.35 * np.sin(x / 9) * np.cos(y / 7))).astype(np.uint16)
    source = scan(pixel_format)
    target = replace(wide(pixel_format), width=size[0], height=size[1])
    fitting = fitting_of(source, target)
    assert fitting is not None
    placed = fitting.placed

    (made,) = planes(Converter(source, target).convert(drawn(source, wave)))

    exact = lanczos(150, placed.height) @ wave @ lanczos(200, placed.width).T
    inside = made[placed.top :, placed.left :][: placed.height, : placed.width]
    off = inside - exact
    assert abs(off).max() < 2
    assert np.sqrt(np.mean(off**2)) < 0.35, "rounding alone is 0.29"
    assert abs(off.mean()) < 0.05, "it is no darker and no brighter"


@pytest.mark.parametrize("pixel_format", ["gray", "gray10le", "gray16le", "yuv420p"])
@pytest.mark.parametrize("width", [320, 322, 90, 1000])
def test_a_step_in_the_middle_stays_in_the_middle(pixel_format: str, width: int) -> None:
    source = scan(pixel_format, NARROW)
    height = width * 3 // 4 // 2 * 2
    target = replace(wide(pixel_format, NARROW), width=width, height=height)
    target = replace(target, sample_aspect=Fraction(4 * height, 3 * width))
    frame = flat(source, *([60] * 3 if pixel_format == "yuv420p" else [60]))
    for plane in planes(frame):
        plane[:, plane.shape[1] // 2 :] = 180

    made = Converter(source, target).convert(frame)

    for plane in planes(made):
        line = plane[plane.shape[0] // 2].astype(int)
        assert abs(line + line[::-1] - 240).max() <= 1, "left and right of the middle mirror"
        assert np.all(plane == plane[:1]), "every line is alike"


def test_a_picture_of_the_same_scale_keeps_every_sample_between_the_bars() -> None:
    source = scan("yuv422p10le", NARROW, 1)
    target = replace(wide("yuv422p10le", NARROW, 1), height=150, width=300)
    random = np.random.default_rng(1895)
    frame = flat(source, 64, 512, 512)
    for plane in planes(frame):
        plane[:] = random.integers(4, 1019, plane.shape)

    made = Converter(source, target).convert(frame)

    for own, plane in zip(planes(frame), planes(made), strict=True):
        left = 50 * plane.shape[1] // 300
        assert np.array_equal(own, plane[:, left : left + own.shape[1]])


def test_filling_takes_the_middle_and_nothing_else() -> None:
    source = scan("gray")
    lines = np.zeros((150, 200), np.uint8)
    lines[18:131] = 200  # 200 x 9/16 = 112.5 lines are 16:9: 113, from the 18th
    target = replace(wide("gray", fit=Fit.FILL), width=200, height=113)
    target = replace(target, sample_aspect=Fraction(113 * 16, 200 * 9))

    (made,) = planes(Converter(source, target).convert(drawn(source, lines)))

    assert {200} == set(np.unique(made).tolist())


@pytest.mark.parametrize("fit", Fit)
def test_a_picture_of_that_raster_already_is_not_touched(fit: Fit) -> None:
    source = replace(scan("yuv420p", NARROW, 1), sample_aspect=Fraction(12, 11))
    target = replace(source, fit=fit, active_width=192)
    frame = flat(source, 90, 128, 128)

    assert Converter(source, target).convert(frame) is frame
    assert fitting_of(source, target) is None


def test_a_scan_that_tells_no_sample_aspect_has_square_samples() -> None:
    assert fitting_of(SCAN, wide("gray")) == fitting_of(
        replace(SCAN, sample_aspect=Fraction(1)), wide("gray")
    )
    assert fitting_of(SCAN, replace(SCAN, sample_aspect=Fraction(1), fit=Fit.PAD)) is None


def test_the_deeper_of_two_depths_is_kept_while_scaling() -> None:
    source = scan("gray")
    ramp = np.broadcast_to(np.arange(200, dtype=np.uint8), (150, 200))

    (made,) = planes(Converter(source, wide("gray10le")).convert(drawn(source, ramp)))

    assert len(np.unique(made[90, 50:270])) > 200, "between the 200 levels of 8 bits stand others"


def test_chroma_is_scaled_straight_to_the_sampling_of_the_deliverable() -> None:
    for own, wanted, expected in (
        ("yuv420p", "yuv422p10le", "yuv422p10le"),
        ("yuv422p10le", "yuv420p", "yuv420p10le"),
        ("yuv411p", "yuv422p", "yuv422p"),
        ("uyvy422", "yuv420p", "yuv420p"),
        ("yuv422p10le", "gbrp16le", "yuv444p16le"),
        ("rgba", "yuv422p10le", "gbrp10le"),
        ("gray", "yuv422p10le", "gray10le"),
    ):
        found = fitted_format(scan(own), wide(wanted))
        assert (expected, 320, 180) == (found.pixel_format, found.width, found.height)


@pytest.mark.parametrize(
    ("own", "wanted", "text"),
    [
        ("xyz12le", "xyz12le", "the scan is in CIE XYZ"),
        ("pal8", "rgb24", "palettes of their own"),
        ("rgba", "bgra", "pictures of bgra, with alpha, are not scaled"),
        ("grayf32le", "gbrpf32le", "with samples that are no whole numbers"),
    ],
)
def test_what_cannot_be_scaled_is_refused(own: str, wanted: str, text: str) -> None:
    with pytest.raises(NotationError, match=text):
        fitted_format(scan(own), wide(wanted))
