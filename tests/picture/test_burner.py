"""Burnt-in text can be read from a decoded picture, and the picture around it stays as it was."""

from __future__ import annotations

import subprocess
from fractions import Fraction
from typing import TYPE_CHECKING

import av
import imageio_ffmpeg
import numpy as np
import pytest
from av.filter import Graph
from av.video.stream import VideoStream
from burnt import ASCII, letter_picture, read_burnt

from retime.errors import NotationError
from retime.light.burn_place import BurnPlace
from retime.light.format import PictureFormat
from retime.picture.burner import Burner
from retime.picture.burning import burn_layout, extent_of
from retime.profile.shelf import shelf

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from retime.light.raster import Rectangle

LABEL = "01:00:10;02"
LINES = "01:23:45;67 98:76:54:32\nreel 2 39+14\n1234 2/14A restrained"
"""Every digit, both separators, and what else reference copies have burnt in."""
RASTERS = (
    (640, 480, Fraction(1)),
    (720, 480, Fraction(10, 11)),  # 4:3 from 704 samples of Rec. ITU-R BT.601's 720
    (1920, 1080, Fraction(1)),
)
# Width, as samples and in bytes a line, does not divide by what FFmpeg fills lines up to.
NARROW_YUV = ("yuv420p", "yuv422p", "yuv444p", "yuv411p", "yuv410p", "yuv440p")
DEEP_YUV = ("yuv420p10le", "yuv422p10le", "yuv444p12le", "yuv422p12be", "yuv444p16le", "yuv420p9le")
GREY = ("gray", "gray9le", "gray10le", "gray12le", "gray14le", "gray16le", "gray16be")
PLANAR_RGB = ("gbrp", "gbrp9le", "gbrp10le", "gbrp12le", "gbrp14le", "gbrp16le", "gbrp12be")
PACKED_RGB = ("rgb24", "bgr24", "rgb48le", "rgb48be", "bgr48le", "0rgb", "0bgr", "rgb0", "bgr0")
FORMATS = (*NARROW_YUV, "yuvj420p", *DEEP_YUV, *GREY, *PLANAR_RGB, *PACKED_RGB)


def picture_of(frame: av.VideoFrame, aspect: Fraction | None = None) -> PictureFormat:
    return PictureFormat(
        width=frame.width,
        height=frame.height,
        pixel_format=frame.format.name,
        sample_aspect=aspect,
        range=frame.color_range,
    )


def noise(width: int, height: int, pixel_format: str, seed: int = 1) -> av.VideoFrame:
    """Return a picture of noise, what pads its lines included; no sample has bits too many."""
    frame = av.VideoFrame(width, height, pixel_format)
    random = np.random.default_rng(seed)
    for number, plane in enumerate(frame.planes):
        data = np.frombuffer(memoryview(plane), np.uint8)
        data[:] = random.integers(0, 256, data.shape)
        bits = max(part.bits for part in frame.format.components if part.plane == number)
        if 8 < bits < 16:
            data["le" in pixel_format :: 2] &= (1 << (bits - 8)) - 1
    return frame


def flat(width: int, height: int, level: int) -> av.VideoFrame:
    frame = av.VideoFrame(width, height, "gray")
    np.frombuffer(memoryview(frame.planes[0]), np.uint8)[:] = level
    return frame


def rows(frame: av.VideoFrame) -> list[NDArray[np.generic]]:
    """Return the samples of each plane, shape (height, width, samples of a pixel)."""
    found: list[NDArray[np.generic]] = []
    for number, plane in enumerate(frame.planes):
        parts = [part for part in frame.format.components if part.plane == number]
        deep = max(part.bits for part in parts) > 8
        order = ">" if frame.format.is_big_endian else "<"
        kind = np.dtype(f"{order}u2" if deep else "u1")
        of_pixel = 4 if frame.format.name in PACKED_RGB[-4:] else len(parts)
        data = np.frombuffer(bytes(plane), np.uint8).reshape(plane.height, plane.line_size)
        line = data.view(kind)[:, : plane.width * of_pixel]
        found.append(line.reshape(plane.height, plane.width, of_pixel))
    return found


def box_in(frame: av.VideoFrame, plane: int, box: Rectangle) -> tuple[slice, slice]:
    """Return the rows and columns of a plane that a box covers."""
    whole, part = frame.planes[0], frame.planes[plane]
    across, down = (
        round(luma / chroma)
        for luma, chroma in ((whole.width, part.width), (whole.height, part.height))
    )
    return (
        slice(box.top // down, (box.top + box.height) // down),
        slice(box.left // across, (box.left + box.width) // across),
    )


@pytest.mark.parametrize("pixel_format", FORMATS)
def test_outside_its_box_every_sample_stays_as_it_was(pixel_format: str) -> None:
    frame = noise(334, 252, pixel_format)
    before = rows(frame)

    burnt = Burner(picture_of(frame), BurnPlace.TOP_RIGHT).burn(frame, "39+14\n2")

    box = burn_layout(picture_of(frame), BurnPlace.TOP_RIGHT, extent_of("39+14\n2")).box
    for number, (was, kept, made) in enumerate(zip(before, rows(frame), rows(burnt), strict=True)):
        assert np.array_equal(was, kept)
        inside = box_in(frame, number, box)
        assert not np.array_equal(was[inside], made[inside])
        expected = was.copy()
        expected[inside] = made[inside]
        assert np.array_equal(expected, made)


@pytest.mark.parametrize("pixel_format", FORMATS)
def test_text_in_every_format_is_read_back(pixel_format: str) -> None:
    """FFmpeg's own conversion to grey stands between, so that codes mean what FFmpeg reads."""
    frame = noise(640, 480, pixel_format)

    burnt = Burner(picture_of(frame), BurnPlace.BOTTOM).burn(frame, LABEL)

    assert LABEL == read_burnt(burnt.to_ndarray(format="gray"))


@pytest.mark.parametrize(
    ("pixel_format", "colour_range", "dark", "white"),
    [
        # Rec. ITU-R BT.709-6, table 4, and BT.2020-2, table 5: narrow range, 8, 10 and 12 bits.
        ("yuv420p", 1, 16, 235),
        ("yuv420p", 0, 16, 235),
        ("yuv422p10le", 1, 64, 940),
        ("yuv444p12le", 0, 256, 3760),
        ("gray10le", 1, 64, 940),
        ("gbrp12le", 1, 256, 3760),
        ("rgb24", 1, 16, 235),
        # Rec. ITU-T H.273, full range: 2 ** n - 1 is white. What is unspecified: common practice.
        ("yuv420p", 2, 0, 255),
        ("yuvj420p", 0, 0, 255),
        ("yuv422p10le", 2, 0, 1023),
        ("gray", 0, 0, 255),
        ("gray16le", 2, 0, 65535),
        ("gbrp10le", 0, 0, 1023),
        ("rgb48be", 0, 0, 65535),
        ("bgr0", 2, 0, 255),
    ],
)
def test_letters_are_white_and_the_box_is_black_at_the_codes_of_the_range(
    pixel_format: str, colour_range: int, dark: int, white: int
) -> None:
    """A full block covers its cell; chroma is 2 ** (n - 1) in both ranges (Rec. ITU-T H.273)."""
    frame = noise(334, 252, pixel_format)
    frame.color_range = colour_range

    burnt = Burner(picture_of(frame), BurnPlace.BOTTOM).burn(frame, "\N{FULL BLOCK}")

    layout = burn_layout(picture_of(frame), BurnPlace.BOTTOM, extent_of("1"))
    box, cell = layout.box, layout.cell
    luma, *others = rows(burnt)
    bits = frame.format.components[0].bits
    assert {dark} == set(luma[box.top : layout.top, box.left : box.left + box.width].flat)
    assert {dark} == set(luma[box.top : box.top + box.height, box.left : layout.left].flat)
    block = luma[layout.top + 2 : layout.top + cell.height - 2, layout.left :][:, : cell.width]
    assert {white} == set(block.flat)
    for number, plane in enumerate(others, 1):
        within = plane[box_in(frame, number, box)]
        if pixel_format.startswith("yuv"):
            assert {1 << (bits - 1)} == set(within.flat)
        else:
            assert np.array_equal(luma[box_in(frame, 0, box)], within)


def test_every_visible_character_of_ascii_is_read_back() -> None:
    frame = noise(640, 480, "gray")
    burner = Burner(picture_of(frame), BurnPlace.BOTTOM)
    text = "\n".join(ASCII[first : first + 32] for first in range(0, len(ASCII), 32))

    assert text == read_burnt(burner.burn(frame, text).to_ndarray())


@pytest.mark.parametrize("place", BurnPlace)
@pytest.mark.parametrize(("width", "height", "aspect"), RASTERS)
def test_text_is_read_over_black_white_and_noise_wherever_it_stands(
    width: int, height: int, aspect: Fraction, place: BurnPlace
) -> None:
    for under in (flat(width, height, 0), flat(width, height, 255), noise(width, height, "gray")):
        burner = Burner(picture_of(under, aspect), place)

        for text in (LABEL, LINES):
            read = read_burnt(burner.burn(under, text).to_ndarray(), place, sample_aspect=aspect)
            assert text == read


def test_small_letters_are_read_back() -> None:
    text = f"{LABEL} reel 2 frame 1234 feet 39+14 shot 2/14A restrained"
    frame = noise(640, 480, "gray")

    burnt = Burner(picture_of(frame), BurnPlace.BOTTOM).burn(frame, text)

    assert 62 >= len(text) > 43
    assert text == read_burnt(burnt.to_ndarray())


def encoded(path: Path, profile: str, frames: Sequence[av.VideoFrame], aspect: Fraction) -> Path:
    """Write frames as a shipped profile has them encoded."""
    found = shelf().load(profile)
    assert found.codec is not None
    with av.open(str(path), "w") as container:
        stream = container.add_stream(found.codec.encoder, rate=24, options=found.encoder_options())
        assert isinstance(stream, VideoStream)
        stream.width, stream.height = frames[0].width, frames[0].height
        stream.pix_fmt = frames[0].format.name
        stream.codec_context.sample_aspect_ratio = aspect
        stream.codec_context.thread_count = found.threads
        for number, frame in enumerate(frames):
            frame.pts, frame.time_base = number, Fraction(1, 24)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


@pytest.mark.parametrize(("width", "height", "aspect"), RASTERS)
@pytest.mark.parametrize(
    ("profile", "ending", "pixel_format"),
    [("h264-viewing", "mp4", "yuv420p"), ("prores-mezzanine", "mov", "yuv422p10le")],
)
def test_every_letter_is_read_back_from_what_was_encoded(  # noqa: PLR0913, PLR0917 - one table
    tmp_path: Path,
    profile: str,
    ending: str,
    pixel_format: str,
    width: int,
    height: int,
    aspect: Fraction,
) -> None:
    """Over white, black and noise, which is as hard as it can be for an encoder."""
    under = [
        flat(width, height, 255).reformat(format=pixel_format),
        flat(width, height, 0).reformat(format=pixel_format),
        noise(width, height, pixel_format),
    ]
    for plane in under[-1].planes:  # noise is slow to encode, and is needed about the text only
        np.frombuffer(memoryview(plane), np.uint8)[: 3 * plane.buffer_size // 4] = 0
    burner = Burner(picture_of(under[0], aspect), BurnPlace.BOTTOM)
    frames = [burner.burn(frame, LINES) for frame in under]

    path = encoded(tmp_path / f"copy.{ending}", profile, frames, aspect)

    with av.open(str(path)) as container:
        read = [
            read_burnt(frame.to_ndarray(format="gray"), sample_aspect=aspect)
            for frame in container.decode(video=0)
        ]
    assert [LINES] * 3 == read


def test_a_timecode_is_read_from_a_viewing_copy_at_half_its_size(tmp_path: Path) -> None:
    """Decoded and scaled by the ffmpeg program, the second reader."""
    under = noise(640, 480, "yuv420p")
    burner = Burner(picture_of(under), BurnPlace.BOTTOM)
    labels = [f"0{number}:{59 - number}:1{number};{number}{9 - number}" for number in range(10)]
    path = encoded(
        tmp_path / "copy.mp4",
        "h264-viewing",
        [burner.burn(under, label) for label in labels],
        Fraction(1),
    )

    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", "-i", str(path)]
    command += ["-vf", "scale=320:240:flags=area", "-pix_fmt", "gray", "-f", "rawvideo", "-"]
    done = subprocess.run(command, capture_output=True, check=True)

    pictures = np.frombuffer(done.stdout, np.uint8).reshape(-1, 240, 320)
    assert labels == [read_burnt(one, letters="0123456789:;") for one in pictures]


@pytest.mark.parametrize(
    "aspect", [Fraction(1), Fraction(10, 11), Fraction(16, 11), Fraction(2), Fraction(1, 2)]
)
def test_letters_keep_their_shape_where_samples_are_not_square(aspect: Fraction) -> None:
    """Against the font as matplotlib's rasteriser draws it, and H's width over its height.

    The H of the font is 950 units wide and 1493 high, by its outline.
    """
    frame = flat(1440, 1080, 128)

    burnt = Burner(picture_of(frame, aspect), BurnPlace.TOP_LEFT).burn(frame, "Hg8;")

    layout = burn_layout(picture_of(frame, aspect), BurnPlace.TOP_LEFT, extent_of("Hg8;"))
    cell = layout.cell
    seen = burnt.to_ndarray()[layout.top : layout.top + cell.height, layout.left :] / 255
    for place, letter in enumerate("Hg8;"):
        drawn = letter_picture(letter, (cell.width, cell.height), cell.baseline, cell.em)
        of_letter = seen[:, place * cell.width : (place + 1) * cell.width]
        assert np.abs(drawn - of_letter).mean() < 0.01
    capital = seen[:, : cell.width]
    high, wide = capital.max(axis=1).sum(), capital.max(axis=0).sum()
    assert abs(wide * aspect / high / Fraction(950, 1493) - 1) < 0.05


def test_what_the_font_has_no_letter_for_is_the_fonts_own_box() -> None:
    frame = flat(640, 480, 128)
    burner = Burner(picture_of(frame), BurnPlace.BOTTOM)

    missing, other, another = (burner.burn(frame, one).to_ndarray() for one in "\u4e2d\0?")

    assert np.array_equal(missing, other)
    assert 40 < (missing > 200).sum()
    assert not np.array_equal(missing, another)


@pytest.mark.parametrize(
    "text",
    [
        "\u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627",  # Hebrew and Arabic
        "a\u0301\u0302\u0303\u0304\u20dd",  # marks over marks, and a circle about them
        "\u202e\u2066abc\u200f\ufeff",
        "\t\r\x1b[0m\x7f",
        "\ud800\udfff\U0001f39e\ufffe",
        "\u00ad\ufdfd\u2e3b\ua9c5",  # wider than their cells in some fonts
    ],
    ids=ascii,
)
def test_no_character_fails_or_leaves_the_box(text: str) -> None:
    frame = noise(640, 480, "gray")

    burnt = Burner(picture_of(frame), BurnPlace.BOTTOM).burn(frame, text).to_ndarray()

    box = burn_layout(picture_of(frame), BurnPlace.BOTTOM, extent_of(text)).box
    edge = burnt[box.top : box.top + box.height, box.left : box.left + box.width].copy()
    edge[2:-2, 3:-3] = 0
    assert not edge.any()
    burnt[box.top : box.top + box.height, box.left : box.left + box.width] = 0
    expected = frame.to_ndarray().copy()
    expected[box.top : box.top + box.height, box.left : box.left + box.width] = 0
    assert np.array_equal(expected, burnt)


@pytest.mark.parametrize("text", ["", "  ", "\n"])
def test_a_text_without_letters_has_no_box(text: str) -> None:
    frame = noise(640, 480, "yuv420p")

    burnt = Burner(picture_of(frame), BurnPlace.BOTTOM).burn(frame, text)

    assert burnt is not frame
    for was, made in zip(rows(frame), rows(burnt), strict=True):
        assert np.array_equal(was, made)


def test_time_tags_and_field_flags_are_kept() -> None:
    frame = _filtered(noise(640, 480, "yuv420p"), "setfield", "tff")
    frame.pts, frame.time_base = 7, Fraction(1001, 30000)
    frame.color_primaries, frame.color_trc, frame.colorspace, frame.color_range = 9, 16, 9, 2

    burnt = Burner(picture_of(frame), BurnPlace.BOTTOM).burn(frame, LABEL)

    assert (7, Fraction(1001, 30000), True) == (burnt.pts, burnt.time_base, burnt.interlaced_frame)
    assert (9, 16, 9, 2) == (
        burnt.color_primaries,
        burnt.color_trc,
        burnt.colorspace,
        burnt.color_range,
    )


def test_a_picture_stored_bottom_up_is_written_in_the_right_way_up() -> None:
    """FFmpeg's ``vflip`` turns a picture over by naming its last line the first."""
    turned = _filtered(noise(640, 480, "yuv420p"), "vflip")
    assert turned.planes[0].line_size < 0
    upright = _filtered(turned, "copy")
    burner = Burner(picture_of(turned), BurnPlace.BOTTOM)

    for one, other in zip(
        rows(burner.burn(turned, LABEL)), rows(burner.burn(upright, LABEL)), strict=True
    ):
        assert np.array_equal(one, other)


def _filtered(frame: av.VideoFrame, name: str, arguments: str | None = None) -> av.VideoFrame:
    graph = Graph()
    source = graph.add_buffer(
        width=frame.width, height=frame.height, format=frame.format, time_base=Fraction(1)
    )
    step, sink = graph.add(name, arguments), graph.add("buffersink")
    source.link_to(step)
    step.link_to(sink)
    graph.configure()
    graph.vpush(frame)
    return graph.vpull()


def test_a_burner_takes_pictures_of_its_own_format_only() -> None:
    burner = Burner(picture_of(noise(640, 480, "yuv420p")), BurnPlace.BOTTOM)

    for other in (noise(640, 478, "yuv420p"), noise(640, 480, "yuv422p")):
        with pytest.raises(ValueError, match="another format than was prepared for"):
            burner.burn(other, LABEL)


def test_what_cannot_be_burnt_is_refused_before_any_picture_comes() -> None:
    with pytest.raises(NotationError, match="no text is burnt into pictures with alpha"):
        Burner(picture_of(av.VideoFrame(640, 480, "rgba")), BurnPlace.BOTTOM)
    with pytest.raises(NotationError, match="has 1 line of 99 letters"):
        Burner(picture_of(flat(640, 480, 0)), BurnPlace.BOTTOM, extent_of("x" * 99))


def test_letters_of_texts_of_any_length_are_of_the_size_that_the_largest_needs() -> None:
    frame = flat(640, 480, 128)
    burner = Burner(picture_of(frame), BurnPlace.TOP_LEFT, extent_of("x" * 60))

    one, another = (burner.burn(frame, text).to_ndarray() for text in ("1" * 60, "1"))

    assert np.array_equal(one[30:40, 40:44], another[30:40, 40:44])


def test_the_reader_tells_nothing_where_it_is_not_certain() -> None:
    """Of a picture without text, of two texts in one, and of a text that is partly hidden."""
    under = noise(640, 480, "gray")
    burner = Burner(picture_of(under), BurnPlace.BOTTOM)

    def mixed(one: str, other: str) -> NDArray[np.uint8]:
        first, second = (burner.burn(under, text).to_ndarray() for text in (one, other))
        return (first // 2 + second // 2).astype(np.uint8)

    hidden = burner.burn(under, LABEL).to_ndarray().copy()
    hidden[:, 300:312] = 128
    unclear = [
        under.to_ndarray(),
        mixed("01:00:10;02", "01:00:10;08"),
        mixed("12:34:56:17\nreel 2", "98:65:43;20\nreel 2"),
        hidden,
    ]

    assert [None] * 4 == [read_burnt(picture) for picture in unclear]
