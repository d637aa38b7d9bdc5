"""Stills become plates: in their place, of their shape, black beside them, their levels kept."""

from __future__ import annotations

import subprocess
import warnings
from fractions import Fraction
from typing import TYPE_CHECKING, Any, TypeAlias

import imageio_ffmpeg
import numpy as np
import pytest
from av.video.frame import VideoFrame
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from numbered import draw, read_frame

from retime.errors import NotationError
from retime.light.format import PictureFormat
from retime.light.raster import Fit, Rectangle, raster_of
from retime.picture.plate_maker import PlateMaker
from retime.picture.plates import active_area, check_plate, keeps_codes, picture_area, place_in
from retime.picture.samples import sample_form, samples

if TYPE_CHECKING:
    from collections.abc import Sequence
    from types import ModuleType

    from numpy.typing import NDArray

    from retime.picture.samples import Samples

    Values: TypeAlias = NDArray[np.float64]

NARROW, FULL = 1, 2
BT709, SRGB, LINEAR, GAMMA22, PQ = 1, 13, 8, 4, 16  # Rec. ITU-T H.273, TransferCharacteristics
STILL = PictureFormat(width=64, height=48, pixel_format="rgb24", matrix=0, range=FULL)
HD = PictureFormat(
    width=1920,
    height=1080,
    pixel_format="yuv422p10le",
    sample_aspect=Fraction(1),
    matrix=1,
    range=NARROW,
    fit=Fit.PAD,
)


def still(pixel_format: str, colour_range: int = FULL, matrix: int = 0) -> PictureFormat:
    return replace(STILL, pixel_format=pixel_format, range=colour_range, matrix=matrix)


def film(
    pixel_format: str,
    colour_range: int = NARROW,
    matrix: int = 1,
    size: tuple[int, int] = (64, 48),
) -> PictureFormat:
    target = replace(HD, pixel_format=pixel_format, range=colour_range, matrix=matrix)
    return replace(target, width=size[0], height=size[1])


def standard(
    size: tuple[int, int], display: Fraction, active: int | None, pixel_format: str = "yuv420p"
) -> PictureFormat:
    """Return a deliverable of a standard raster."""
    raster = raster_of(size, display, active)
    return replace(
        film(pixel_format, size=size), sample_aspect=raster.sample_aspect, active_width=active
    )


def planes(frame: VideoFrame) -> list[Samples]:
    form = sample_form(frame.format.name)
    assert form is not None
    return [samples(plane, form) for plane in frame.planes]


def painted(picture: PictureFormat, *components: Any) -> VideoFrame:
    """Return a picture of components: numbers, or arrays of shape (height, width)."""
    frame = VideoFrame(picture.width, picture.height, picture.pixel_format)
    found = planes(frame)
    if len(found) < len(components):
        (packed,) = found
        found = [packed[:, place :: len(components)] for place in range(len(components))]
    for plane, component in zip(found, components, strict=True):
        plane[:] = component
    return frame


def made(source: PictureFormat, target: PictureFormat, frame: VideoFrame) -> list[Samples]:
    """Return the planes of a plate that has all of the active area to itself."""
    return planes(PlateMaker(target, active_area(target)).make(frame, source))


FOUR_THREE, SIXTEEN_NINE = Fraction(4, 3), Fraction(16, 9)


@pytest.mark.parametrize(
    ("scan", "target", "area"),
    [
        # Full-frame 1.33 in 16:9: 1080 x 4/3 = 1440, and (1920 - 1440)/2 = 240 black on each side.
        (replace(STILL, width=2048, height=1536), HD, "1440x1080+240+0"),
        (replace(STILL, width=1920, height=1080), HD, "1920x1080+0+0"),
        (
            replace(STILL, width=2048, height=1536),
            standard((720, 576), FOUR_THREE, 704),
            "704x576+8+0",
        ),
        # 4:3 in anamorphic 16:9 of 704: 3/4 of the active width.
        (
            replace(STILL, width=2048, height=1536),
            standard((720, 576), SIXTEEN_NINE, 704),
            "528x576+96+0",
        ),
        # In the scan's own raster nothing is placed: all that is active may carry picture.
        (
            replace(STILL, width=2048, height=1536),
            replace(HD, width=2048, height=1536, fit=Fit.KEEP),
            "2048x1536+0+0",
        ),
        (
            replace(STILL, width=720, height=480, sample_aspect=Fraction(10, 11)),
            standard((720, 480), FOUR_THREE, 704),
            "704x480+8+0",
        ),
        (
            replace(STILL, width=2048, height=1536),
            replace(HD, fit=Fit.FILL),
            "1920x1080+0+0",
        ),
    ],
)
def test_the_picture_area_is_where_the_films_picture_lies(
    scan: PictureFormat, target: PictureFormat, area: str
) -> None:
    assert area == str(picture_area(scan, target))


@pytest.mark.parametrize(
    ("size", "aspect", "target", "expected"),
    [
        ((640, 480), None, HD, "1440x1080+240+0"),
        ((4000, 3000), None, HD, "1440x1080+240+0"),
        ((720, 576), Fraction(16, 15), HD, "1440x1080+240+0"),
        ((1998, 1080), None, HD, "1920x1038+0+21"),
        # All 720 samples taken for the picture, 16:15 and 8:9: common practice.
        ((640, 480), None, standard((720, 576), FOUR_THREE, 720), "720x576+0+0"),
        ((1920, 1080), None, standard((720, 576), FOUR_THREE, 720), "720x432+0+72"),
        ((1920, 1080), None, standard((720, 480), FOUR_THREE, None), "720x360+0+60"),
        # Rec. ITU-T H.264, table E-1: 12:11 and 16:11 for 704 samples of 720x576.
        ((640, 480), None, standard((720, 576), FOUR_THREE, 704), "704x576+8+0"),
        ((640, 480), None, standard((720, 576), SIXTEEN_NINE, 704), "528x576+96+0"),
        ((1920, 1080), None, standard((720, 576), SIXTEEN_NINE, 704), "704x576+8+0"),
    ],
)
def test_all_of_a_still_stands_in_the_middle_with_its_aspect_kept(
    size: tuple[int, int], aspect: Fraction | None, target: PictureFormat, expected: str
) -> None:
    source = replace(still("gray"), width=size[0], height=size[1], sample_aspect=aspect)
    placed = place_in(active_area(target), source, target)
    whole = painted(source, 255)
    plane = made(source, target, whole)[0]
    white, black = (940, 64) if target is HD else (235, 16)
    inside = plane[placed.top :, placed.left :][: placed.height, : placed.width]

    assert expected == str(placed)
    assert {white} == set(np.unique(inside).tolist())
    assert placed.width * placed.height == np.count_nonzero(plane == white)
    assert {white, black} >= set(np.unique(plane).tolist())


def test_a_still_stands_in_the_area_that_the_film_has() -> None:
    scan = replace(STILL, width=2048, height=1536)
    area = picture_area(scan, HD)
    source = replace(still("gray"), width=1920, height=1080)

    # 1440 wide is 810 high at 16:9, from (1080 - 810)/2 on.
    assert "1440x810+240+135" == str(place_in(area, source, HD))
    # 4:2:0 keeps to even lines.
    assert "1440x810+240+134" == str(place_in(area, source, replace(HD, pixel_format="yuv420p")))


# White, black and neutral: Rec. ITU-R BT.709-6, table 4, narrow 235, 16, 128 in 8 bits and four
# times as much in 10; Rec. ITU-T H.273, section 8.3, full: all of the scale.
ENDS = {
    ("yuv422p10le", NARROW): ((940, 512, 512), (64, 512, 512)),
    ("yuv420p", NARROW): ((235, 128, 128), (16, 128, 128)),
    ("yuv420p", FULL): ((255, 128, 128), (0, 128, 128)),
    ("yuv444p10le", FULL): ((1023, 512, 512), (0, 512, 512)),
    ("yuv444p16le", NARROW): ((60160, 32768, 32768), (4096, 32768, 32768)),
    ("gray", FULL): ((255,), (0,)),
    ("gray10le", NARROW): ((940,), (64,)),
    ("gray16be", FULL): ((65535,), (0,)),
    ("rgb24", FULL): ((255,) * 3, (0,) * 3),
    ("gbrp10le", FULL): ((1023,) * 3, (0,) * 3),
    ("rgb48be", FULL): ((65535,) * 3, (0,) * 3),
}


@pytest.mark.parametrize(("pixel_format", "colour_range"), ENDS)
@pytest.mark.parametrize(
    ("source", "white", "black"),
    [
        (still("gray"), (255,), (0,)),
        (still("gray16be"), (65535,), (0,)),
        (still("gray", NARROW), (235,), (16,)),
        (still("rgb24"), (255, 255, 255), (0, 0, 0)),
        (still("rgb48be"), (65535,) * 3, (0,) * 3),
        (still("gbrp10le", 0), (1023,) * 3, (0,) * 3),
        (still("yuvj420p", FULL, 5), (255, 128, 128), (0, 128, 128)),
        (still("yuv420p", NARROW, 5), (235, 128, 128), (16, 128, 128)),
    ],
    ids=lambda one: one.pixel_format if isinstance(one, PictureFormat) else None,
)
def test_white_and_black_are_exact_and_without_colour(
    source: PictureFormat,
    white: Sequence[int],
    black: Sequence[int],
    pixel_format: str,
    colour_range: int,
) -> None:
    rgb = pixel_format.startswith(("rgb", "gbrp"))
    target = film(pixel_format, colour_range, 0 if rgb else 1, (112, 72))  # 96 wide, 8 beside
    white_is, black_is = ENDS[(pixel_format, colour_range)]

    bright, dark = (made(source, target, painted(source, *one)) for one in (white, black))

    def levels(plane: Samples) -> list[list[int]]:
        """Return what is beside the still, and what is in it."""
        near = plane.shape[1] // 14
        beside = np.concatenate([plane[:, :near], plane[:, -near:]], axis=1)
        return [np.unique(part).tolist() for part in (beside, plane[:, near:-near])]

    for plane, expected, outside in zip(bright, white_is, black_is, strict=False):
        assert [[outside], [expected]] == levels(plane)
    for plane, outside in zip(dark, black_is, strict=False):
        assert [outside] == np.unique(plane).tolist()


@pytest.mark.parametrize("size", [(64, 48), (96, 48), (40, 30)])
@pytest.mark.parametrize(
    ("target", "black", "white", "neutral"),
    [
        (film("yuv422p10le"), 64, 940, 512),
        (film("yuv420p"), 16, 235, 128),
        (film("yuv420p", FULL), 0, 255, 128),
        (film("gray16le", FULL), 0, 65535, 0),
        (film("gbrp12le", FULL, 0), 0, 4095, None),
    ],
    ids=lambda one: one.pixel_format if isinstance(one, PictureFormat) else None,
)
@pytest.mark.parametrize("own_range", [NARROW, FULL])
def test_constants_stay_constant_at_every_code_rounded_half_up(  # noqa: PLR0913, PLR0917
    target: PictureFormat,
    black: int,
    white: int,
    neutral: int | None,
    size: tuple[int, int],
    own_range: int,
) -> None:
    """Rec. ITU-T H.273, section 8.3: a code is black + (white - black) x signal, rounded.

    A still of narrow range also has codes below black and above white.
    """
    target = replace(target, width=size[0], height=size[1])
    source = replace(still("gray", own_range), width=16, height=12)
    maker = PlateMaker(target, active_area(target))
    top = 65535 if white == 65535 else 4095 if white == 4095 else 1023 if white == 940 else 255
    own_black, own_span = (16, 219) if own_range == NARROW else (0, 255)

    for code in range(0, 256, 3 if size == (64, 48) else 17):
        exact = black + Fraction((white - black) * (code - own_black), own_span)
        expected = min(max(0, (exact + Fraction(1, 2)) // 1), top)
        luma, *others = planes(maker.make(painted(source, code), source))
        middle = luma.shape[1] // 4
        assert [expected] == np.unique(luma[:, middle:-middle]).tolist()
        for other in others:
            middle = other.shape[1] // 4
            level = expected if neutral is None else neutral
            assert [level] == np.unique(other[:, middle:-middle]).tolist()


def test_a_still_of_ten_bits_comes_into_eight_half_up_without_dither() -> None:
    source, target = still("yuv422p10le", NARROW, 1), film("yuv420p")
    for code in range(64, 941, 18):
        luma, blue, red = made(source, target, painted(source, code, 512, 512))
        assert [(code + 2) // 4] == np.unique(luma).tolist()
        assert [[128], [128]] == [np.unique(blue).tolist(), np.unique(red).tolist()]


@pytest.mark.parametrize(
    ("rgb", "matrix", "expected"),
    [
        # 100 % colour bars in 10-bit narrow Y'CbCr by Rec. ITU-R BT.709-6 (0.2126, 0.0722) and
        # BT.601-7 (0.299, 0.114), computed from their equations; BT.709's yellow and blue are
        # those widely printed for HD bars, 877 64 553 and 127 960 471: from memory.
        ((255, 255, 0), 1, (877, 64, 553)),
        ((0, 0, 255), 1, (127, 960, 471)),
        ((255, 0, 0), 1, (250, 409, 960)),
        ((0, 255, 0), 6, (578, 215, 137)),
        ((255, 0, 0), 6, (326, 361, 960)),
    ],
)
def test_colours_are_those_of_the_deliverables_matrix(
    rgb: tuple[int, int, int], matrix: int, expected: tuple[int, int, int]
) -> None:
    source = still("rgb24")
    found = made(source, film("yuv422p10le", NARROW, matrix), painted(source, *rgb))

    assert [[one] for one in expected] == [np.unique(plane).tolist() for plane in found]


def test_colour_reaches_the_last_lines_of_an_uneven_raster() -> None:
    """The last chroma samples of 65x49 in 4:2:0 lie over one luma sample each way."""
    source = replace(still("rgb24"), width=65, height=49)
    target = film("yuv420p", size=(65, 49))

    _, blue, red = made(source, target, painted(source, 255, 0, 0))

    assert (25, 33) == blue.shape
    # Rec. ITU-R BT.709-6: 100 % red is 63, 102, 240 in 8 bits.
    assert [[102], [240]] == [np.unique(blue).tolist(), np.unique(red).tolist()]


def test_the_matrix_of_a_jpeg_still_is_turned_into_the_deliverables() -> None:
    """Rec. ITU-T T.871: Y = 0.299 R + 0.587 G + 0.114 B, full range; red is 76, 85, 255."""
    source = still("yuvj444p", FULL, 5)
    red = painted(source, 76, 85, 255)

    luma, blue, red_of = made(source, film("yuv444p10le"), red)

    for expected, plane in zip((250, 409, 960), (luma, blue, red_of), strict=True):
        assert abs(int(plane[0, 0]) - expected) <= 3, "JPEG's 8 bits are four codes of 10 apart"
        assert plane.min() == plane.max()


def test_a_still_of_the_areas_raster_comes_in_sample_for_sample() -> None:
    source = replace(still("yuv422p10le", NARROW, 1), width=96)
    target = film("yuv422p10le", size=(160, 48))
    frame = noise(source)

    placed = place_in(active_area(target), source, target)
    found = made(source, target, frame)

    assert "96x48+32+0" == str(placed)
    for own, plane in zip(planes(frame), found, strict=True):
        left = 32 * plane.shape[1] // 160
        assert np.array_equal(own, plane[:, left : left + own.shape[1]])


@pytest.mark.parametrize("pixel_format", ["rgb24", "rgb48be", "gray16be", "gbrp10le"])
def test_so_does_one_of_the_deliverables_own_samples(pixel_format: str) -> None:
    source = still(pixel_format)
    frame = noise(source)

    found = made(source, film(pixel_format, FULL, 0), frame)

    for own, plane in zip(planes(frame), found, strict=True):
        assert np.array_equal(own, plane)


def noise(picture: PictureFormat) -> VideoFrame:
    frame = VideoFrame(picture.width, picture.height, picture.pixel_format)
    random = np.random.default_rng(1895)
    bits = 10 if "10" in picture.pixel_format else 16 if "16" in picture.pixel_format else 8
    bits = 16 if "48" in picture.pixel_format else bits
    for plane in planes(frame):
        plane[:] = random.integers(0, 1 << bits, plane.shape)
    return frame


_SIDES = st.integers(min_value=64, max_value=700)
_ASPECTS = st.sampled_from([None, Fraction(1), Fraction(16, 15), Fraction(8, 9), Fraction(40, 33)])
_KINDS = st.sampled_from(["gray", "gray16be", "rgb24", "rgba", "yuvj420p", "gbrp10le", "ya8"])
_FILMS = st.sampled_from(
    [
        film("yuv422p10le", size=(320, 180)),
        film("gray", FULL, 2, (300, 225)),
        film("rgb48le", FULL, 0, (257, 193)),
        standard((360, 288), FOUR_THREE, 352),
        standard((720, 480), SIXTEEN_NINE, 704),
    ]
)


@settings(max_examples=60, deadline=None)
@given(width=_SIDES, height=_SIDES, aspect=_ASPECTS, kind=_KINDS, target=_FILMS)
def test_a_number_is_read_from_a_plate_of_any_size_and_shape(
    width: int, height: int, aspect: Fraction | None, kind: str, target: PictureFormat
) -> None:
    source = replace(still(kind), width=width, height=height, sample_aspect=aspect)
    if kind == "yuvj420p":
        source = replace(source, matrix=5)
    placed = place_in(active_area(target), source, target)
    frame = draw(1927, width, height, kind)

    plate = PlateMaker(target, active_area(target)).make(frame, source)

    assert (target.width, target.height, target.pixel_format) == (
        plate.width,
        plate.height,
        plate.format.name,
    )
    if placed.width >= 60 and placed.height >= 36:  # six samples a cell
        assert 1927 == read_frame(plate)


@pytest.mark.parametrize("name", ["rgba", "bgra", "gbrap", "gbrpf32le", "uyvy422", "nv12", "ya8"])
def test_a_plate_has_whatever_pixel_format_the_film_has(name: str) -> None:
    target = film(name, FULL if name[0] in "rbgy" else NARROW, 1, (320, 240))

    plate = PlateMaker(target, active_area(target)).make(draw(7, 160, 96), still_of(160, 96))

    assert name == plate.format.name
    assert 7 == read_frame(plate)


def still_of(width: int, height: int) -> PictureFormat:
    return replace(still("gray"), width=width, height=height)


def overlaid(rgba: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return RGB with alpha, shape (height, width, 4), over black, by the ffmpeg program."""
    height, width = rgba.shape[:2]
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error"]
    command += ["-f", "rawvideo", "-pix_fmt", "rgba", "-s", f"{width}x{height}", "-i", "-"]
    command += ["-f", "lavfi", "-i", f"color=black:s={width}x{height}:r=25,format=gbrp"]
    command += ["-filter_complex", "[1][0]overlay=format=gbrp:shortest=1:alpha=straight"]
    command += ["-frames:v", "1", "-f", "rawvideo", "-pix_fmt", "rgb24", "-"]
    done = subprocess.run(command, input=rgba.tobytes(), capture_output=True, check=True)
    return np.frombuffer(done.stdout, np.uint8).reshape(height, width, 3)


def test_alpha_is_laid_over_black_as_the_program_lays_it() -> None:
    random = np.random.default_rng(1902)
    rgba = random.integers(0, 256, (48, 64, 4), np.uint8)
    rgba[:8, :, 3], rgba[8:16, :, 3] = 0, 255
    source = still("rgba")
    frame = VideoFrame.from_ndarray(rgba, format="rgba")

    (plane,) = made(source, film("rgb24", FULL, 0), frame)
    plate = plane.reshape(48, 64, 3)

    assert abs(overlaid(rgba).astype(int) - plate).max() <= 1, "the program divides by 255 roughly"
    assert not plate[:8].any()
    assert np.array_equal(rgba[8:16, :, :3], plate[8:16])
    exact = (rgba[..., :3].astype(int) * rgba[..., 3:] * 2 + 255) // 510
    assert np.array_equal(exact, plate)
    assert not keeps_codes(source, film("rgb24", FULL, 0))


@pytest.mark.parametrize("pixel_format", ["rgba64be", "ya16be", "ya8", "pal8", "monob"])
def test_stills_of_any_samples_keep_white_black_and_what_alpha_hides(pixel_format: str) -> None:
    rgba = np.zeros((48, 64, 4), np.uint8)
    rgba[:, 16:48] = 255  # black that is hidden, white that is seen, and then:
    rgba[:, 48:, :3] = 255  # white that is hidden
    if pixel_format == "monob":
        rgba[:, 48:, :3] = 0
    if pixel_format == "pal8":
        frame = palette_picture(rgba)
    elif pixel_format == "rgba64be":
        frame = VideoFrame(64, 48, pixel_format)
        np.frombuffer(memoryview(frame.planes[0]), ">u2")[:] = rgba.ravel() * np.uint16(257)
    else:
        frame = VideoFrame.from_ndarray(rgba, format="rgba").reformat(format=pixel_format)

    luma, blue, red = made(still(pixel_format), film("yuv422p10le"), frame)

    assert {940} == set(np.unique(luma[:, 16:48]).tolist())
    assert {64} == set(np.unique(np.delete(luma, np.s_[16:48], axis=1)).tolist())
    assert {512} == {*np.unique(blue).tolist(), *np.unique(red).tolist()}


def palette_picture(rgba: NDArray[np.uint8]) -> VideoFrame:
    """Return a picture by a palette of three: FFmpeg's are blue, green, red, alpha in memory."""
    frame = VideoFrame(rgba.shape[1], rgba.shape[0], "pal8")
    indices, palette = frame.planes
    kinds = [(0, 0, 0, 0), (255, 255, 255, 255), (255, 255, 255, 0)]
    raw = np.frombuffer(memoryview(indices), np.uint8).reshape(indices.height, indices.line_size)
    for index, kind in enumerate(kinds):
        raw[:, : rgba.shape[1]][(rgba == kind).all(axis=2)] = index
    np.frombuffer(memoryview(palette), np.uint8)[:12] = np.array(kinds).ravel()
    return frame


def colour_science() -> ModuleType:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it tells on import what else it could do with more
        import colour  # noqa: PLC0415 - it takes a second
    found: ModuleType = colour
    return found


# Names that colour-science 0.4.7 has for codes of Rec. ITU-T H.273, ColourPrimaries.
PRIMARIES = {
    1: "ITU-R BT.709",
    5: "ITU-R BT.470 - 625",
    6: "SMPTE C",
    9: "ITU-R BT.2020",
    12: "P3-D65",
}


@pytest.mark.parametrize(
    ("primaries", "transfers"),
    [
        ((1, 1), (SRGB, BT709)),
        ((12, 1), (SRGB, BT709)),
        ((9, 1), (14, SRGB)),
        ((1, 9), (BT709, 15)),
        ((6, 1), (6, BT709)),
        ((1, 5), (LINEAR, 6)),
        ((1, 6), (GAMMA22, BT709)),
        ((5, 1), (SRGB, LINEAR)),
        ((1, 1), (SRGB, GAMMA22)),
    ],
)
def test_colours_are_turned_as_colour_science_turns_them(
    primaries: tuple[int, int], transfers: tuple[int, int]
) -> None:
    colour = colour_science()
    rgb = np.random.default_rng(1911).integers(0, 65536, (48, 64, 3))
    rgb[0, 0], rgb[0, 1], rgb[0, 2] = 0, 65535, 30000
    source = replace(still("gbrp16le"), primaries=primaries[0], transfer=transfers[0])
    target = replace(film("gbrp16le", FULL, 0), primaries=primaries[1], transfer=transfers[1])
    frame = painted(source, rgb[..., 1], rgb[..., 2], rgb[..., 0])

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it tells that chromaticities of white differ in names
        turn = colour.matrix_RGB_to_RGB(
            *(colour.RGB_COLOURSPACES[PRIMARIES[code]] for code in primaries), None
        )
    to_light = {
        SRGB: colour.models.eotf_sRGB,
        LINEAR: lambda signal: signal,
        GAMMA22: lambda signal: signal**2.2,
    }.get(transfers[0], colour.models.eotf_BT1886)
    to_signal = {
        SRGB: colour.models.eotf_inverse_sRGB,
        LINEAR: lambda light: light,
        GAMMA22: lambda light: light ** (1 / 2.2),
    }.get(transfers[1], colour.models.eotf_inverse_BT1886)
    expected = to_signal((to_light(rgb / 65535) @ turn.T).clip(0, 1)) * 65535

    green, blue, red = made(source, target, frame)

    found = np.stack([red, green, blue], axis=-1).astype(float)
    # Within two codes of 16 bits; near black a power of 1/2.4 makes much of a digit of theirs.
    bright = expected > 2000
    assert abs(found - expected)[bright].max() < 2
    assert abs(found - expected).max() < 40
    assert [65535] * 3 == found[0, 1].tolist()
    assert [0] * 3 == found[0, 0].tolist()
    assert 1 == len(set(found[0, 2].tolist())), "grey stays grey"


def test_srgb_grey_becomes_bt1886_by_the_published_curves() -> None:
    """IEC 61966-2-1 and Rec. ITU-R BT.1886, as colour-science 0.4.7 has them.

    Code 128 of 255 is 0.2158605 of light, whose signal is 0.5278; narrow in 10 bits that is 526.
    """
    source = replace(still("gray"), transfer=SRGB)
    target = replace(film("yuv422p10le"), transfer=BT709)
    for code in (0, 1, 20, 128, 200, 255):
        light = colour_science().models.eotf_sRGB(code / 255)
        signal = float(colour_science().models.eotf_inverse_BT1886(light))
        luma, blue, red = made(source, target, painted(source, code))

        assert [int(64 + 876 * signal + 0.5)] == np.unique(luma).tolist()
        assert [[512], [512]] == [np.unique(blue).tolist(), np.unique(red).tolist()]
    assert 526 == int(64 + 876 * 0.2158605 ** (1 / 2.4) + 0.5)


@pytest.mark.parametrize(
    ("own", "wanted"),
    [
        ({"transfer": SRGB}, {}),
        ({}, {"transfer": BT709}),
        ({"primaries": 9}, {"transfer": BT709}),
        ({"transfer": 6}, {"transfer": BT709}),
        ({"primaries": 6}, {"primaries": 7}),
        ({"primaries": 5, "transfer": 16}, {"primaries": 5, "transfer": 16}),
    ],
)
def test_codes_stay_where_one_side_says_nothing_or_both_say_the_same(
    own: dict[str, int], wanted: dict[str, int]
) -> None:
    source = replace(still("gbrp10le"), **own)
    target = replace(film("gbrp10le", FULL, 0), **wanted)
    frame = noise(source)

    assert keeps_codes(source, target)
    for one, other in zip(planes(frame), made(source, target, frame), strict=True):
        assert np.array_equal(one, other)


def test_primaries_are_turned_by_the_only_curve_that_is_told() -> None:
    """Both are of that curve then: grey stays, red of BT.2020 is cut off to BT.709's."""
    source = replace(still("gbrp10le"), primaries=9, transfer=SRGB)
    target = replace(film("gbrp10le", FULL, 0), primaries=1)

    green, blue, red = made(source, target, painted(source, 0, 0, 1023))
    grey = made(source, target, painted(source, 500, 500, 500))

    assert ([0], [0], [1023]) == tuple(np.unique(one).tolist() for one in (green, blue, red))
    narrow = made(source, replace(target, range=NARROW), painted(source, 0, 0, 1023))
    assert [[64], [64], [940]] == [np.unique(one).tolist() for one in narrow]
    assert [[500]] * 3 == [np.unique(one).tolist() for one in grey]


def test_what_y_cbcr_leaves_unsaid_is_as_in_the_film() -> None:
    source = still("yuv422p10le", 0, 2)
    for target in (film("yuv422p10le", FULL, 1), film("yuv422p10le", NARROW, 9)):
        frame = noise(source)
        for one, other in zip(planes(frame), made(source, target, frame), strict=True):
            assert np.array_equal(one, other)


@pytest.mark.parametrize(
    ("source", "target", "text"),
    [
        (still("xyz12le"), HD, "the still is in CIE XYZ, and no plate is made of such"),
        (still("yuva420p", FULL, 1), HD, "in yuva420p, with alpha, and no plate"),
        (still("gbrapf32le"), HD, "in gbrapf32le, with alpha, and no plate"),
        (still("gray"), film("xyz12le"), "deliverable are xyz12le, of which no plate is made"),
        (still("gray"), film("pal8"), "deliverable are pal8, of which no plate is made"),
        (
            still("yuv420p", NARROW, 2),
            film("rgb24", FULL, 0),
            "not say by which matrix its Y'CbCr was made, and the deliverable is rgb24; save it",
        ),
        (still("yuv420p", NARROW, 8), HD, "the still's matrix has code 8"),
        (still("rgb24"), replace(HD, matrix=10), "the deliverable's matrix has code 10"),
        (
            replace(still("rgb24"), transfer=PQ),
            replace(HD, transfer=BT709),
            "colour transfer has code 16 and the deliverable's 1",
        ),
        (
            replace(still("rgb24"), primaries=11, transfer=SRGB),
            replace(HD, primaries=1),
            "colour primaries has code 11 and the deliverable's 1",
        ),
        (
            replace(still("rgb24"), primaries=9),
            replace(HD, primaries=1),
            "code 9 and the deliverable's 1 .* and neither says its transfer",
        ),
    ],
)
def test_what_no_plate_is_made_of_is_refused(
    source: PictureFormat, target: PictureFormat, text: str
) -> None:
    with pytest.raises(NotationError, match=text):
        check_plate(source, target)
    if text.startswith("the still"):
        with pytest.raises(NotationError, match=text):
            PlateMaker(target, active_area(target)).make(draw(1, 64, 48), source)


def test_grey_stills_ask_for_no_primaries() -> None:
    check_plate(replace(still("gray"), primaries=11), replace(HD, primaries=1))


def test_an_area_within_the_raster_is_all_that_is_painted() -> None:
    target = film("yuv420p", size=(64, 48))
    area = Rectangle(left=20, top=8, width=24, height=18)
    plate = PlateMaker(target, area).make(painted(still("rgb24"), 255, 0, 0), still("rgb24"))
    luma, blue, red = planes(plate)

    assert 24 * 18 == np.count_nonzero(luma != 16)
    for chroma in (blue, red):
        assert 12 * 9 == np.count_nonzero(chroma[4:13, 10:22] != 128)
        assert 12 * 9 == np.count_nonzero(chroma != 128)
