"""Pictures are mixed in linear light: held against double precision, code by code."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest
from av.video.frame import VideoFrame
from exactly_mixed import (
    BT601,
    BT709,
    codes_of,
    drawn,
    mixed_colours,
    mixed_levels,
    over_luma,
    to_rgb,
    whole,
)

from retime.errors import NotationError
from retime.light.format import PictureFormat
from retime.light.transfer import Transfer
from retime.picture.mix import Mixer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from exactly_mixed import Codes

NARROW, FULL = 1, 2
HALF = (Fraction(1, 2), Fraction(1, 2))
WEIGHTS = [
    HALF,
    (Fraction(1, 3), Fraction(2, 3)),
    (Fraction(5, 6), Fraction(1, 6)),
    (Fraction(3, 7), Fraction(4, 7)),
    (Fraction(1, 3), Fraction(1, 3), Fraction(1, 3)),
    (Fraction(1, 1001), Fraction(1000, 1001)),
]
GREYS = {"gray": 8, "gray10le": 10, "gray12le": 12, "gray14le": 14, "gray16le": 16, "gray16be": 16}


def mixer(
    frame: VideoFrame, transfer: Transfer = Transfer.BT1886, colours: int = 0, matrix: int = 1
) -> Mixer:
    """Prepare for pictures like one, of a range and a matrix."""
    picture = PictureFormat(
        width=frame.width,
        height=frame.height,
        pixel_format=frame.format.name,
        range=colours,
        matrix=matrix,
    )
    return Mixer(picture, transfer)


@cache
def grey_mixer(transfer: Transfer, pixel_format: str, colours: int) -> Mixer:
    """Prepare for grey pictures of 256x256; the tables of 16 bits take a moment."""
    return mixer(VideoFrame(256, 256, pixel_format), transfer, colours)


def flat(pixel_format: str, *codes: int) -> VideoFrame:
    """Make a picture of one code a plane, 37x5: no line is as long as the memory for it."""
    empty = VideoFrame(37, 5, pixel_format)
    assert empty.planes[0].line_size > empty.planes[0].width * (codes[0].bit_length() > 8) + 37
    shapes = [one.shape for one in codes_of(empty)]
    return drawn(
        pixel_format, *(np.full(shape, code) for shape, code in zip(shapes, codes, strict=True))
    )


def some_weights(chance: np.random.Generator) -> list[Fraction]:
    """Return two to four weights that sum to 1."""
    parts = chance.integers(1, 1000, chance.integers(2, 5)).tolist()
    return [Fraction(part, sum(parts)) for part in parts]


def the_codes(frame: VideoFrame) -> list[set[int]]:
    """Return what codes occur in each plane."""
    return [set(plane.ravel().tolist()) for plane in codes_of(frame)]


@pytest.mark.parametrize(
    ("pixel_format", "colours", "black", "white", "mean"),
    [
        # The published curve: half of white's light is 0.7491535384 of its signal.
        ("gray", NARROW, (16,), (235,), (180,)),
        ("gray10le", NARROW, (64,), (940,), (720,)),
        ("gray10le", FULL, (0,), (1023,), (766,)),
        ("yuv420p", NARROW, (16, 128, 128), (235, 128, 128), (180, 128, 128)),
        ("yuvj420p", 0, (0, 128, 128), (255, 128, 128), (191, 128, 128)),
        ("yuv422p10le", NARROW, (64, 512, 512), (940, 512, 512), (720, 512, 512)),
        ("yuv444p12le", 0, (256, 2048, 2048), (3760, 2048, 2048), (2881, 2048, 2048)),
        ("gbrp10be", 0, (0, 0, 0), (1023, 1023, 1023), (766, 766, 766)),
        ("rgb24", NARROW, (16,), (235,), (180,)),
    ],
)
def test_half_black_half_white_is_half_the_light(
    pixel_format: str,
    colours: int,
    black: Sequence[int],
    white: Sequence[int],
    mean: Sequence[int],
) -> None:
    frames = [flat(pixel_format, *codes) for codes in (black, white)]

    made = mixer(frames[0], colours=colours).mix(list(zip(frames, HALF, strict=True)))

    assert [{code} for code in mean] == the_codes(made)


@pytest.mark.parametrize(
    ("transfer", "mean"),
    [
        (Transfer.BT1886, 191),
        (Transfer.SRGB, 188),  # 187.5
        (Transfer.LINEAR, 128),  # 127.5
        (Transfer.LOG, 233),  # 10 ** ((code / 255 * 1023 - 685) / 300) is 6.77 and a little
    ],
)
def test_each_curve_has_its_own_mean_of_black_and_white(transfer: Transfer, mean: int) -> None:
    frames = [flat("gray", 0), flat("gray", 255)]

    made = mixer(frames[0], transfer, FULL).mix(list(zip(frames, HALF, strict=True)))

    assert [{mean}] == the_codes(made)


def test_a_weight_is_a_part_of_the_light() -> None:
    """Ten of sixteen parts of white: BT.1886's signal of 0.625 is 0.8221, 720 codes above 64."""
    frames = [flat("gray10le", 64), flat("gray10le", 940)]
    weights = [Fraction(3, 8), Fraction(5, 8)]

    made = mixer(frames[0], colours=NARROW).mix(list(zip(frames, weights, strict=True)))

    assert [{64 + round(876 * 0.625 ** (1 / 2.4))}] == the_codes(made)


def test_the_order_of_parts_does_not_matter() -> None:
    chance = np.random.default_rng(1)
    frames = [drawn("gray10le", chance.integers(0, 1024, (20, 30))) for _ in range(2)]
    parts = list(zip(frames, WEIGHTS[1], strict=True))
    prepared = mixer(frames[0])

    assert (codes_of(prepared.mix(parts))[0] == codes_of(prepared.mix(parts[::-1]))[0]).all()


@pytest.mark.parametrize("transfer", Transfer)
@pytest.mark.parametrize("pixel_format", GREYS)
@pytest.mark.parametrize("colours", [NARROW, FULL])
def test_every_grey_mixed_with_itself_stays_that_grey(
    transfer: Transfer, pixel_format: str, colours: int
) -> None:
    every = np.resize(np.arange(1 << GREYS[pixel_format]), (256, 256))
    frame = drawn(pixel_format, every)
    prepared = grey_mixer(transfer, pixel_format, colours)

    for weights in WEIGHTS:
        made = prepared.mix([(frame, weight) for weight in weights])

        assert (every == codes_of(made)[0]).all()


@pytest.mark.parametrize("transfer", Transfer)
@pytest.mark.parametrize("pixel_format", GREYS)
@pytest.mark.parametrize("colours", [NARROW, FULL])
def test_no_grey_is_more_than_a_code_from_double_precision(
    transfer: Transfer, pixel_format: str, colours: int
) -> None:
    """All codes occur, those below black and above white too; every other picture is dark."""
    chance = np.random.default_rng(2)
    bits = GREYS[pixel_format]
    top = (1 << bits) - 1
    black, white = (16 << (bits - 8), 235 << (bits - 8)) if colours == NARROW else (0, top)
    prepared = grey_mixer(transfer, pixel_format, colours)
    for bend in (1, 4, 1, 4):
        weights = some_weights(chance)
        planes = [
            np.floor(chance.random((256, 256)) ** bend * (top + 1)).astype(int) for _ in weights
        ]
        exact = mixed_levels(transfer, list(zip(planes, weights, strict=True)), black, white, top)

        frames = [drawn(pixel_format, plane) for plane in planes]
        made = codes_of(prepared.mix(list(zip(frames, weights, strict=True))))[0]

        assert abs(made - exact).max() <= 1


@pytest.mark.parametrize("transfer", Transfer)
@pytest.mark.parametrize("pixel_format", [name for name, bits in GREYS.items() if bits <= 10])
def test_weights_that_come_again_make_the_same_picture_again(
    transfer: Transfer, pixel_format: str
) -> None:
    """Their codes come from another table then; codes that no picture should hold occur too."""
    beyond = 1 << (8 * -(-GREYS[pixel_format] // 8))
    chance = np.random.default_rng(5)
    frames = [drawn(pixel_format, chance.integers(0, beyond, (256, 256))) for _ in range(2)]
    prepared = grey_mixer(transfer, pixel_format, NARROW)
    parts = list(zip(frames, (Fraction(1, 3), Fraction(2, 3)), strict=True))

    first, *again = (codes_of(prepared.mix(parts))[0] for _ in range(4))

    assert all((first == one).all() for one in again)


def test_a_large_picture_is_mixed_as_its_parts_are_by_more_weights_than_are_kept() -> None:
    """Large ones by tables of pairs at once, whose number is bounded; small ones without."""
    chance = np.random.default_rng(6)
    planes = [chance.integers(0, 1024, (1024, 1100)) for _ in range(2)]
    corners = [plane[:40, :50] for plane in planes]
    large, small = ([drawn("gray10le", one) for one in of] for of in (planes, corners))
    prepared = mixer(large[0])
    counted = [Fraction(part, 56) for part in range(1, 56)]

    for weight in [*counted, *reversed(counted)]:
        weights = (weight, 1 - weight)
        made = codes_of(prepared.mix(list(zip(large, weights, strict=True))))[0]
        alone = codes_of(mixer(small[0]).mix(list(zip(small, weights, strict=True))))[0]

        assert (alone == made[:40, :50]).all()


@pytest.mark.parametrize(
    "pixel_format",
    [
        "gbrp", "gbrp10le", "gbrp10be", "gbrp12le", "gbrp16le", "gbrp16be",
        "rgb24", "bgr24", "rgb48le", "rgb48be", "bgr48le", "bgr0",
    ],
)  # fmt: skip
def test_red_green_and_blue_are_mixed_each_by_itself(pixel_format: str) -> None:
    chance = np.random.default_rng(3)
    shapes = [one.shape for one in codes_of(VideoFrame(61, 40, pixel_format))]
    bits = 16 if "48" in pixel_format else int((re.findall(r"gbrp(\d+)", pixel_format) or [8])[0])
    top = (1 << bits) - 1
    weights = some_weights(chance)
    pictures = [[chance.integers(0, top + 1, shape) for shape in shapes] for _ in weights]
    frames = [drawn(pixel_format, *planes) for planes in pictures]

    made = mixer(frames[0], matrix=0).mix(list(zip(frames, weights, strict=True)))

    for number, plane in enumerate(codes_of(made)):
        parts = list(zip((picture[number] for picture in pictures), weights, strict=True))
        assert abs(plane - mixed_levels("bt1886", parts, 0, top, top)).max() <= 1


def coloured(
    chance: np.random.Generator, frame: VideoFrame, luma_parts: tuple[float, float]
) -> list[Codes]:
    """Return narrow-range codes of colours that RGB has, its corners too, of uneven luma."""
    bits = max(part.bits for part in frame.format.components)
    luma, chroma, _ = (one.shape for one in codes_of(frame))
    r, g, b = np.where(chance.random((3, *chroma)) < 0.2, 1, chance.random((3, *chroma)))
    shade = luma_parts[0] * r + luma_parts[1] * b + (1 - sum(luma_parts)) * g
    blue, red = (b - shade) / (2 * (1 - luma_parts[1])), (r - shade) / (2 * (1 - luma_parts[0]))
    above = to_rgb(np.zeros(chroma), blue, red, luma_parts)
    least, most = over_luma(-above.min(axis=0), luma), over_luma(1 - above.max(axis=0), luma)
    depth, top = 1 << (bits - 8), (1 << bits) - 1
    return [
        whole((16 + 219 * (least + (most - least) * chance.random(luma))) * depth, top),
        whole((128 + 224 * blue) * depth, top),
        whole((128 + 224 * red) * depth, top),
    ]


YUV = [
    "yuv444p", "yuv422p", "yuv420p", "yuv411p", "yuv440p",
    "yuv444p10le", "yuv422p10le", "yuv420p10le", "yuv422p12le", "yuv444p16le", "yuv422p16le",
]  # fmt: skip
EVERY_CURVE = ["yuv444p", "yuv422p", "yuv444p10le", "yuv422p10le", "yuv444p16le"]


@pytest.mark.parametrize(
    ("pixel_format", "transfer", "matrix", "luma_parts"),
    [
        *((one, Transfer.BT1886, 1, BT709) for one in YUV),
        *((one, curve, 6, BT601) for one in EVERY_CURVE for curve in Transfer),
    ],
)
def test_no_code_of_a_coloured_picture_is_more_than_one_from_double_precision(
    pixel_format: str, transfer: Transfer, matrix: int, luma_parts: tuple[float, float]
) -> None:
    chance = np.random.default_rng(4)
    frame = VideoFrame(53, 41, pixel_format)  # odd: the last chroma lies over less of luma
    bits = max(part.bits for part in frame.format.components)
    weights = some_weights(chance)
    pictures = [coloured(chance, frame, luma_parts) for _ in weights]
    frames = [drawn(pixel_format, *planes) for planes in pictures]

    made = mixer(frame, transfer, NARROW, matrix).mix(list(zip(frames, weights, strict=True)))

    exact = mixed_colours(
        transfer, list(zip(pictures, weights, strict=True)), bits=bits, luma_parts=luma_parts
    )
    assert [1, 1, 1] >= [abs(a - b).max() for a, b in zip(exact, codes_of(made), strict=True)]


@pytest.mark.parametrize("pixel_format", EVERY_CURVE)
@pytest.mark.parametrize("colours", [NARROW, FULL])
def test_a_picture_mixed_with_itself_stays_as_it_was(pixel_format: str, colours: int) -> None:
    """Any codes do, of colours that no display shows and of full range too."""
    chance = np.random.default_rng(5)
    frame = VideoFrame(52, 40, pixel_format)
    bits = max(part.bits for part in frame.format.components)
    planes = [chance.integers(0, 1 << bits, one.shape) for one in codes_of(frame)]
    frame = drawn(pixel_format, *planes)
    prepared = mixer(frame, colours=colours)

    for weights in WEIGHTS[:4]:
        made = prepared.mix([(frame, weight) for weight in weights])

        assert all((a == b).all() for a, b in zip(planes, codes_of(made), strict=True))


@pytest.mark.parametrize("tinted", [1, 2])
def test_lines_without_colour_stay_without_beside_lines_that_have_it(tinted: int) -> None:
    """Grey lines go by luma alone: their codes are those of a grey picture."""
    chance = np.random.default_rng(6)
    luma = [chance.integers(0, 1024, (1200, 960)) for _ in range(2)]
    pictures = [[one, np.full((1200, 480), 512), np.full((1200, 480), 512)] for one in luma]
    pictures[1][tinted][:40] = 600
    frames = [drawn("yuv422p10le", *planes) for planes in pictures]
    greys = [drawn("gray10le", one) for one in luma]

    made = codes_of(mixer(frames[0], colours=NARROW).mix(list(zip(frames, HALF, strict=True))))
    grey = codes_of(mixer(greys[0], colours=NARROW).mix(list(zip(greys, HALF, strict=True))))[0]

    assert (made[0][:40] != grey[:40]).any()
    assert (made[tinted][:40] != 512).all()
    assert (made[0][-400:] == grey[-400:]).all()
    assert [{512}, {512}] == [set(plane[-400:].ravel().tolist()) for plane in made[1:]]


def test_grey_within_coloured_lines_stays_grey() -> None:
    every = np.arange(1024).reshape(16, 64)
    chroma = np.full((16, 32), 512)
    chroma[:, 0] = 700
    frame = drawn("yuv422p10le", every, chroma, chroma)

    made = codes_of(mixer(frame, colours=NARROW).mix([(frame, weight) for weight in WEIGHTS[1]]))

    assert (every == made[0]).all()
    assert (chroma == made[1]).all()


def test_codes_that_there_are_not_become_the_last_ones() -> None:
    """Colours that no display shows: in double precision the mean is 280, -14 and 168."""
    frames = [flat("yuv444p", 255, 0, 0), flat("yuv444p", 255, 0, 255)]

    made = mixer(frames[0], colours=NARROW).mix(list(zip(frames, HALF, strict=True)))

    assert [{255}, {0}, {168}] == the_codes(made)


def test_an_unspecified_matrix_is_bt_601_in_576_lines_and_bt_709_in_more() -> None:
    """Common practice; the two tell apart what saturated colours mix to."""
    for height, matrix in ((576, 6), (578, 1)):
        frames = [
            drawn("yuv444p", *(np.full((height, 8), code) for code in codes))
            for codes in ((81, 90, 240), (145, 54, 34))
        ]
        parts = list(zip(frames, HALF, strict=True))
        made = {code: codes_of(mixer(frames[0], matrix=code).mix(parts))[0] for code in (1, 2, 6)}

        assert (made[matrix] == made[2]).all()
        assert (made[1] != made[6]).any()


def test_a_single_part_is_that_very_picture() -> None:
    frame = flat("yuv420p", 16, 128, 128)

    assert mixer(frame).mix([(frame, Fraction(1))]) is frame


def test_what_is_mixed_is_left_as_it_was_and_what_is_made_is_its_own() -> None:
    frames = [flat("yuv420p", 16, 128, 128), flat("yuv420p", 235, 128, 128)]
    prepared = mixer(frames[0])

    first = prepared.mix(list(zip(frames, HALF, strict=True)))
    prepared.mix(list(zip(frames, WEIGHTS[2], strict=True)))

    assert [[{16}, {128}, {128}], [{235}, {128}, {128}]] == [the_codes(one) for one in frames]
    assert [{180}, {128}, {128}] == the_codes(first)


def test_what_is_made_has_the_parts_tags_and_no_time() -> None:
    frames = [flat("yuv422p10le", 64, 512, 512) for _ in range(2)]
    for number, frame in enumerate(frames):
        frame.pts = number
        frame.color_range, frame.colorspace, frame.color_primaries, frame.color_trc = 1, 5, 5, 6

    made = mixer(frames[0], matrix=5).mix(list(zip(frames, HALF, strict=True)))

    assert made.pts is None
    assert (1, 5, 5, 6) == (
        made.color_range,
        made.colorspace,
        made.color_primaries,
        made.color_trc,
    )


@pytest.mark.parametrize(
    "weights",
    [
        (),
        (Fraction(1, 2), Fraction(1, 3)),
        (Fraction(3, 2), Fraction(-1, 2)),
        (Fraction(1), Fraction(0)),
    ],
)
def test_weights_that_are_no_mean_are_refused(weights: Sequence[Fraction]) -> None:
    frame = flat("gray", 16)

    with pytest.raises(ValueError, match="sum to 1"):
        mixer(frame).mix([(frame, weight) for weight in weights])


@pytest.mark.parametrize("other", [VideoFrame(37, 6, "gray"), VideoFrame(37, 5, "gray10le")])
def test_a_picture_of_another_format_is_refused(other: VideoFrame) -> None:
    frame = flat("gray", 16)

    with pytest.raises(ValueError, match="another format"):
        mixer(frame).mix([(frame, Fraction(1, 2)), (other, Fraction(1, 2))])


@pytest.mark.parametrize(
    ("pixel_format", "matrix", "words"),
    [
        ("rgba", 0, "with alpha or a palette in pixel format rgba"),
        ("yuva444p10le", 1, "with alpha or a palette in pixel format yuva444p10le"),
        ("gbrap16le", 0, "with alpha or a palette in pixel format gbrap16le"),
        ("pal8", 0, "with alpha or a palette in pixel format pal8"),
        ("nv12", 1, "pixel format nv12"),
        ("p010le", 1, "pixel format p010le"),
        ("uyvy422", 1, "pixel format uyvy422"),
        ("grayf32le", 0, "pixel format grayf32le"),
        ("gbrpf32le", 0, "pixel format gbrpf32le"),
        ("monob", 0, "pixel format monob"),
        ("rgb565le", 0, "pixel format rgb565le"),
        ("x2rgb10le", 0, "pixel format x2rgb10le"),
        ("xyz12le", 0, "pixel format xyz12le"),
        ("yuv444p", 8, "matrix code 8"),
        ("yuv420p10le", 10, "matrix code 10"),
    ],
)
def test_what_cannot_be_mixed_is_refused_in_words(
    pixel_format: str, matrix: int, words: str
) -> None:
    with pytest.raises(NotationError, match=words):
        mixer(VideoFrame(8, 8, pixel_format), matrix=matrix)
