"""Pictures cut out, turned, flipped: each sample stays what it was and stands where it should."""

from __future__ import annotations

import subprocess
from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, NamedTuple

import imageio_ffmpeg
import numpy as np
import pytest
from av.video.frame import VideoFrame
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from numbered import draw, read_frame

from retime.errors import NotationError
from retime.light.format import PictureFormat
from retime.light.raster import Fit, Flip, Framing, Rectangle
from retime.picture.convert import Converter
from retime.picture.framer import Framer
from retime.picture.framing import framed_format

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

WIDTH, HEIGHT = 24, 16
AREA = Rectangle(left=4, top=8, width=12, height=4)


class Plane(NamedTuple):
    """Bytes of one pixel in a plane, and over how many of luma it lies, across and down."""

    size: int
    across: int = 1
    down: int = 1


# How the formats lie in memory, by the descriptions in FFmpeg's header pixfmt.h.
PLANES: dict[str, Sequence[Plane]] = {
    "gray": [Plane(1)],
    "gray10le": [Plane(2)],
    "gray16be": [Plane(2)],
    "grayf32le": [Plane(4)],
    "ya16be": [Plane(4)],
    "rgb24": [Plane(3)],
    "rgb48be": [Plane(6)],
    "rgba": [Plane(4)],
    "rgba64be": [Plane(8)],
    "bgr0": [Plane(4)],
    "x2rgb10le": [Plane(4)],
    "gbrp10le": [Plane(2)] * 3,
    "gbrap16le": [Plane(2)] * 4,
    "gbrpf32le": [Plane(4)] * 3,
    "xyz12le": [Plane(6)],
    "yuv444p10le": [Plane(2)] * 3,
    "yuv420p": [Plane(1), Plane(1, 2, 2), Plane(1, 2, 2)],
    "yuva420p": [Plane(1), Plane(1, 2, 2), Plane(1, 2, 2), Plane(1)],
    "yuv410p": [Plane(1), Plane(1, 4, 4), Plane(1, 4, 4)],
    "nv12": [Plane(1), Plane(2, 2, 2)],
    "p010le": [Plane(2), Plane(4, 2, 2)],
    "yuv422p10le": [Plane(2), Plane(2, 2, 1), Plane(2, 2, 1)],
    "yuv422p": [Plane(1), Plane(1, 2, 1), Plane(1, 2, 1)],
    "yuv411p": [Plane(1), Plane(1, 4, 1), Plane(1, 4, 1)],
    "yuv440p": [Plane(1), Plane(1, 1, 2), Plane(1, 1, 2)],
}


def picture(pixel_format: str, width: int = WIDTH, height: int = HEIGHT) -> PictureFormat:
    return PictureFormat(width=width, height=height, pixel_format=pixel_format)


def lines(frame: VideoFrame) -> list[NDArray[np.uint8]]:
    """Return the planes' bytes without what pads a line, shape (height, width, bytes a pixel)."""
    found = []
    for plane, form in zip(frame.planes, PLANES[frame.format.name], strict=True):
        raw = np.frombuffer(memoryview(plane), np.uint8).reshape(plane.height, plane.line_size)
        shape = (-(-frame.height // form.down), -(-frame.width // form.across), form.size)
        found.append(raw[:, : shape[1] * shape[2]].reshape(shape))
    return found


def noise(picture: PictureFormat, seed: int = 1895) -> VideoFrame:
    frame = VideoFrame(picture.width, picture.height, picture.pixel_format)
    random = np.random.default_rng(seed)
    for plane in lines(frame):
        plane[:] = random.integers(0, 256, plane.shape, np.uint8)
    return frame


def by_program(frame: VideoFrame, wanted: Mapping[str, tuple[int, int]]) -> list[VideoFrame]:
    """Return what the ffmpeg program makes of a picture by each of some filters.

    ``wanted`` is the size that each gives; the pixel format stays the same.
    """
    name = frame.format.name
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error"]
    command += ["-f", "rawvideo", "-pix_fmt", name, "-s", f"{frame.width}x{frame.height}"]
    raw = b"".join(plane.tobytes() for plane in lines(frame))
    made = []
    with TemporaryDirectory() as folder:
        files = [Path(folder) / f"{place}.raw" for place in range(len(wanted))]
        command += ["-i", "-"]
        for file, filters in zip(files, wanted, strict=True):
            command += ["-vf", filters, "-f", "rawvideo", "-pix_fmt", name, str(file)]
        subprocess.run(command, input=raw, capture_output=True, check=True)
        for file, size in zip(files, wanted.values(), strict=True):
            made.append(VideoFrame(*size, name))
            rest = np.fromfile(file, np.uint8)
            for plane in lines(made[-1]):
                own, rest = rest[: plane.size], rest[plane.size :]
                plane[:] = own.reshape(plane.shape)
            assert not rest.size
    return made


def assert_alike(expected: VideoFrame, actual: VideoFrame) -> None:
    assert (expected.width, expected.height) == (actual.width, actual.height)
    assert expected.format.name == actual.format.name
    for one, other in zip(lines(expected), lines(actual), strict=True):
        assert np.array_equal(one, other)


# The program's names: transpose=clock turns to the right, cclock to the left.
IN_ANY_FORMAT = {
    "crop=12:4:4:8": Framing(area=AREA),
    "hflip": Framing(flip=Flip.HORIZONTAL),
    "vflip": Framing(flip=Flip.VERTICAL),
    "hflip,vflip": Framing(rotate=180),
    "crop=12:4:4:8,vflip": Framing(area=AREA, flip=Flip.VERTICAL),
}
SAMPLED_EVENLY = {
    "transpose=clock": Framing(rotate=90),
    "transpose=cclock": Framing(rotate=270),
    "crop=12:4:4:8,transpose=clock": Framing(area=AREA, rotate=90),
    "crop=12:4:4:8,transpose=clock,hflip": Framing(area=AREA, rotate=90, flip=Flip.HORIZONTAL),
    "crop=12:4:4:8,transpose=cclock,vflip": Framing(area=AREA, rotate=270, flip=Flip.VERTICAL),
}


@pytest.mark.parametrize("pixel_format", PLANES)
def test_an_area_is_cut_out_then_turned_then_flipped_as_by_the_program(pixel_format: str) -> None:
    own = picture(pixel_format)
    frame = noise(own)
    evenly = all(plane.across == plane.down for plane in PLANES[pixel_format])
    framings = IN_ANY_FORMAT | (SAMPLED_EVENLY if evenly else {})
    made = [Framer(own, framing).frame(frame) for framing in framings.values()]
    sizes = [(one.width, one.height) for one in made]

    expected = by_program(frame, dict(zip(framings, sizes, strict=True)))

    assert [(12, 4), (24, 16), (24, 16), (24, 16), (12, 4)] == sizes[:5]
    assert sizes[5:] in ([], [(16, 24), (16, 24), (4, 12), (4, 12), (4, 12)])
    for one, other in zip(expected, made, strict=True):
        assert_alike(one, other)


@pytest.mark.parametrize("rotate", [90, 270])
@pytest.mark.parametrize("pixel_format", ["yuv422p10le", "yuv411p", "yuv440p"])
def test_chroma_that_a_right_angle_would_part_from_its_luma_is_repeated(
    pixel_format: str, rotate: int
) -> None:
    own = picture(pixel_format)
    frame = noise(own)

    made = Framer(own, Framing(rotate=rotate)).frame(frame)

    bits = "10le" if pixel_format.endswith("10le") else ""
    assert (f"yuv444p{bits}", HEIGHT, WIDTH) == (made.format.name, made.width, made.height)
    kind = "<u2" if bits else "u1"
    for plane, own_plane, form in zip(made.planes, lines(frame), PLANES[pixel_format], strict=True):
        found = np.frombuffer(memoryview(plane), kind).reshape(plane.height, -1)[:, : plane.width]
        before = own_plane.view(kind)[:, :, 0]
        for y in range(HEIGHT):
            for x in range(WIDTH):
                # To the right the left column becomes the top line, its bottom end first.
                there = (x, HEIGHT - 1 - y) if rotate == 90 else (WIDTH - 1 - x, y)
                assert before[y // form.down, x // form.across] == found[there]


@pytest.mark.parametrize(
    "framing", [Framing(rotate=180), Framing(flip=Flip.VERTICAL), Framing(rotate=90)]
)
def test_so_is_chroma_whose_last_samples_lie_over_fewer_of_luma(framing: Framing) -> None:
    own = picture("yuv420p", 25, 17)
    frame = noise(own)
    full = VideoFrame(25, 17, "yuv444p")
    for source, target in zip(frame.planes, full.planes, strict=True):
        chroma = source.width != 25
        before = np.frombuffer(memoryview(source), np.uint8).reshape(source.height, -1)
        after = np.frombuffer(memoryview(target), np.uint8).reshape(17, -1)
        for y in range(17):
            for x in range(25):
                after[y, x] = before[y // 2, x // 2] if chroma else before[y, x]

    made = Framer(own, framing).frame(frame)
    expected = Framer(picture("yuv444p", 25, 17), framing).frame(full)

    assert expected.format.name == made.format.name == "yuv444p"
    assert np.array_equal(expected.to_ndarray(), made.to_ndarray())
    assert "yuv420p" == framed_format(own, Framing(area=replace(AREA, width=21))).pixel_format


@pytest.mark.parametrize(
    ("packed", "apart"),
    [("uyvy422", "yuv422p"), ("yuyv422", "yuv422p"), ("monob", "gray"), ("y210le", "yuv422p10le")],
)
def test_samples_that_share_bytes_are_taken_apart(packed: str, apart: str) -> None:
    own = picture(packed)
    frame = noise(picture(apart)).reformat(format=packed)
    framing = Framing(area=AREA)
    through = frame.reformat(format=apart)

    made = Framer(own, framing).frame(frame)

    assert apart == framed_format(own, framing).pixel_format
    assert_alike(Framer(picture(apart), framing).frame(through), made)


_SIDES = st.integers(min_value=1, max_value=12)
_FORMATS = st.sampled_from(["gray", "rgb24", "rgb48be", "yuv444p10le", "gbrap16le"])
_TURNS = st.sampled_from([0, 90, 180, 270])
_FLIPS = st.sampled_from([None, *Flip])


@settings(max_examples=60, deadline=None)
@given(name=_FORMATS, width=_SIDES, height=_SIDES, rotate=_TURNS)
def test_a_turn_and_its_inverse_give_the_picture_back(
    name: str, width: int, height: int, rotate: int
) -> None:
    own = picture(name, width, height)
    frame, there = noise(own), Framing(rotate=rotate)
    back = Framing(rotate=(360 - rotate) % 360)

    turned = Framer(own, there).frame(frame)

    assert_alike(frame, Framer(framed_format(own, there), back).frame(turned))


@settings(max_examples=60, deadline=None)
@given(name=_FORMATS, rotate=_TURNS, flip=_FLIPS, width=_SIDES, height=_SIDES)
def test_a_flip_may_come_first_if_the_turn_then_goes_the_other_way(
    name: str, rotate: int, flip: Flip | None, width: int, height: int
) -> None:
    """A mirror image turned to the right is that turned to the left, mirrored."""
    own = picture(name, width, height)
    frame = noise(own)
    at_once = Framing(rotate=rotate, flip=flip)
    flipped = Framing(flip=flip)
    last = Framing(rotate=(360 - rotate) % 360 if flip else rotate)

    expected = Framer(own, at_once).frame(frame)
    mirrored = Framer(own, flipped).frame(frame)

    assert_alike(expected, Framer(framed_format(own, flipped), last).frame(mirrored))


@settings(max_examples=80, deadline=None)
@given(data=st.data(), name=st.sampled_from([*PLANES]))
def test_an_area_of_an_area_is_an_area(data: st.DataObject, name: str) -> None:
    step = max(max(plane.across, plane.down) for plane in PLANES[name])

    def part(width: int, height: int) -> Rectangle:
        assume(width >= step <= height)
        left = data.draw(st.integers(0, width // step - 1)) * step
        top = data.draw(st.integers(0, height // step - 1)) * step
        return Rectangle(
            left=left,
            top=top,
            width=data.draw(st.integers(1, (width - left) // step)) * step,
            height=data.draw(st.integers(1, (height - top) // step)) * step,
        )

    own = picture(name)
    outer = part(WIDTH, HEIGHT)
    inner = part(outer.width, outer.height)
    both = replace(inner, left=outer.left + inner.left, top=outer.top + inner.top)
    frame = noise(own)

    half = Framer(own, Framing(area=outer)).frame(frame)
    made = Framer(framed_format(own, Framing(area=outer)), Framing(area=inner)).frame(half)

    assert_alike(Framer(own, Framing(area=both)).frame(frame), made)


def test_tags_and_time_are_carried() -> None:
    frame = noise(picture("yuv420p"))
    frame.pts, frame.color_primaries, frame.color_trc = 17, 5, 6
    frame.colorspace, frame.color_range = 5, 1

    made = Framer(picture("yuv420p"), Framing(rotate=90)).frame(frame)

    assert (17, 5, 6) == (made.pts, made.color_primaries, made.color_trc)
    assert (5, 1) == (made.colorspace, made.color_range)


@pytest.mark.parametrize(
    "framing",
    [
        Framing(),
        Framing(sample_aspect=Fraction(16, 15)),
        Framing(area=Rectangle(left=0, top=0, width=WIDTH, height=HEIGHT)),
    ],
)
def test_a_picture_whose_samples_stay_where_they_are_is_not_touched(framing: Framing) -> None:
    frame = noise(picture("gray"))

    assert Framer(picture("gray"), framing).frame(frame) is frame


def test_the_format_that_is_not_framed_is_the_picture_itself() -> None:
    own = picture("uyvy422")

    assert framed_format(own, Framing()) is own


@pytest.mark.parametrize(
    ("rotate", "size", "aspect"),
    [
        (0, (12, 4), Fraction(16, 15)),
        (90, (4, 12), Fraction(15, 16)),
        (180, (12, 4), Fraction(16, 15)),
        (270, (4, 12), Fraction(15, 16)),
    ],
)
def test_a_right_angle_turns_the_sample_aspect_over(
    rotate: int, size: tuple[int, int], aspect: Fraction
) -> None:
    own = replace(
        picture("yuv420p"),
        sample_aspect=Fraction(12, 11),
        field_order="top-first",
        primaries=5,
        transfer=6,
        matrix=5,
        range=1,
    )
    told = Framing(area=AREA, rotate=rotate, sample_aspect=Fraction(16, 15))

    made = framed_format(own, told)

    assert replace(own, width=size[0], height=size[1], sample_aspect=aspect) == made
    told = replace(told, sample_aspect=None)
    of_header = Fraction(12, 11) if rotate in {0, 180} else Fraction(11, 12)
    assert of_header == framed_format(own, told).sample_aspect
    assert framed_format(replace(own, sample_aspect=None), told).sample_aspect is None


@pytest.mark.parametrize(
    ("pixel_format", "area", "text"),
    [
        (
            "gray",
            (4, 8, 21, 4),
            r"of 24x16; x \+ w is at most 24 and y \+ h at most 16",
        ),
        ("gray", (0, 8, 4, 9), "the area 0,8,4,9 reaches outside of the scan's picture"),
        ("gray", (24, 0, 1, 1), "reaches outside"),
        (
            "yuv420p",
            (3, 8, 4, 4),
            "of yuv420p; x and w have to be multiples of 2, y and h of 2",
        ),
        ("yuv420p", (3, 8, 5, 4), "does not lie on whole chroma samples"),
        ("yuv420p", (4, 7, 4, 5), "does not lie on whole chroma samples"),
        ("yuv420p", (4, 7, 4, 4), "does not lie on whole chroma samples"),
        ("yuv420p", (4, 8, 5, 4), "does not lie on whole chroma samples"),
        ("yuv420p", (4, 8, 4, 5), "does not lie on whole chroma samples"),
        ("yuv411p", (2, 7, 4, 5), "x and w have to be multiples of 4, y and h of 1"),
        ("uyvy422", (3, 8, 4, 4), "x and w have to be multiples of 2, y and h of 1"),
        ("pal8", (0, 0, 4, 4), "palettes of their own, and are not framed"),
    ],
)
def test_what_cannot_be_framed_is_refused(
    pixel_format: str, area: tuple[int, int, int, int], text: str
) -> None:
    left, top, width, height = area
    framing = Framing(area=Rectangle(left=left, top=top, width=width, height=height))

    with pytest.raises(NotationError, match=text):
        framed_format(picture(pixel_format), framing)


def test_an_area_may_take_the_last_luma_samples_of_an_uneven_picture() -> None:
    own = picture("yuv420p", 25, 17)
    framing = Framing(area=Rectangle(left=4, top=8, width=21, height=9))

    made = Framer(own, framing).frame(noise(own))

    assert (21, 9, "yuv420p") == (made.width, made.height, made.format.name)


@pytest.mark.parametrize("pixel_format", ["gray", "yuv420p", "rgb48be", "yuv422p10le"])
@pytest.mark.parametrize(
    ("rotate", "flip", "undone"),
    [
        (0, None, "null"),
        (90, None, "transpose=cclock"),
        (180, Flip.VERTICAL, "hflip"),
        (270, Flip.HORIZONTAL, "hflip,transpose=clock"),
    ],
)
def test_a_number_that_lies_wrongly_in_a_scan_is_set_right_and_brought_into_a_raster(
    pixel_format: str, rotate: int, flip: Flip | None, undone: str
) -> None:
    """The ffmpeg program lays the number as the framing says that it lies, on a field of noise."""
    size = (96, 160) if "transpose" in undone else (160, 96)
    (lain,) = by_program(draw(1927), {undone: size})
    grey = lain.to_ndarray()
    scan = np.random.default_rng(7).integers(0, 256, (224, 240), np.uint8)
    scan[32 : 32 + grey.shape[0], 48 : 48 + grey.shape[1]] = grey
    frame = VideoFrame.from_ndarray(scan, format="gray").reformat(format=pixel_format)
    own = replace(picture(pixel_format, 240, 224), matrix=1)
    target = PictureFormat(
        width=320,
        height=180,
        pixel_format="yuv422p10le",
        sample_aspect=Fraction(1),
        matrix=1,
        range=1,
        fit=Fit.PAD,
    )
    area = Rectangle(left=48, top=32, width=size[0], height=size[1])
    framing = Framing(area=area, rotate=rotate, flip=flip)

    made = Converter(own, target, framing).convert(frame)

    assert (320, 180, "yuv422p10le") == (made.width, made.height, made.format.name)
    assert 1927 == read_frame(made)
