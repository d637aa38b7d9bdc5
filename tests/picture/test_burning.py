"""Text burnt into pictures is large enough to be read, and stands where it is safe."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import pytest
from matplotlib.ft2font import FT2Font

from retime.errors import NotationError
from retime.light.burn_place import BurnPlace
from retime.light.format import PictureFormat
from retime.picture.burning import ADVANCE, burn_layout, check_burn, extent_of
from retime.picture.glyphs import font_path

TIMECODE = "01:00:10;02"
TWO_LINES = "01:00:10;02 reel 2\n39+14 2/14A"


def picture(
    width: int = 640,
    height: int = 480,
    pixel_format: str = "yuv420p",
    sample_aspect: Fraction | None = None,
    active_width: int | None = None,
) -> PictureFormat:
    return PictureFormat(
        width=width,
        height=height,
        pixel_format=pixel_format,
        sample_aspect=sample_aspect,
        active_width=active_width,
    )


RASTERS = (
    picture(),
    picture(720, 480, "yuv422p10le", Fraction(10, 11), 704),
    picture(720, 576, "yuv420p", Fraction(12, 11), 704),
    picture(1440, 1080, "yuv411p", Fraction(4, 3)),
    picture(1920, 1080, "yuv410p"),
    picture(1998, 1080, "gbrp12le"),
    picture(333, 251, "gray"),
    picture(160, 96, "yuv440p"),
)


def name(shown: PictureFormat) -> str:
    return f"{shown.width}x{shown.height}-{shown.pixel_format}"


def capital_height(shown: PictureFormat, text: str) -> Fraction:
    """Return how many lines high capitals are; the font's are 1493 of 2048 units."""
    return burn_layout(shown, BurnPlace.BOTTOM, extent_of(text)).cell.em * Fraction(1493, 2048)


@pytest.mark.parametrize("shown", RASTERS, ids=name)
def test_capitals_are_a_thirtieth_of_the_height_and_not_under_14_lines(
    shown: PictureFormat,
) -> None:
    """To within the half sample that makes letters a whole number of samples wide.

    The figures are our own: no standard was found that states a size for burnt-in text.
    """
    aspect = shown.sample_aspect or Fraction(1)
    half_a_sample = aspect / 2 * Fraction(1493, 1233)

    asked = max(Fraction(14), Fraction(shown.height, 30))

    assert abs(capital_height(shown, "12") - asked) <= half_a_sample


@pytest.mark.parametrize("place", BurnPlace)
@pytest.mark.parametrize("shown", RASTERS, ids=name)
def test_a_box_keeps_5_percent_from_every_edge(shown: PictureFormat, place: BurnPlace) -> None:
    """EBU R 95, the graphics safe area (its figure of 5 % from memory), of the active picture."""
    for text in (TIMECODE, "1", "39+14\n2/1"):
        box = burn_layout(shown, place, extent_of(text)).box

        active = shown.active_width or shown.width
        beside = Fraction(shown.width - active, 2) + Fraction(active, 20)
        assert beside <= box.left
        assert box.left + box.width <= shown.width - beside
        assert Fraction(shown.height, 20) <= box.top
        assert box.top + box.height <= Fraction(19 * shown.height, 20)


@pytest.mark.parametrize("place", BurnPlace)
def test_a_box_stands_at_the_edges_that_its_place_names(place: BurnPlace) -> None:
    """In 640x480 what is safe begins at sample 32 and line 24, both whole steps of 4:2:0."""
    box = burn_layout(picture(), place, extent_of(TIMECODE)).box

    down, _, across = str(place).partition("-")
    assert (24 if down == "top" else 456) == (box.top if down == "top" else box.top + box.height)
    middle = (640 - box.width) // 2
    expected = {"left": 32, "right": 608 - box.width, "": middle - middle % 2}[across]
    assert expected == box.left


@pytest.mark.parametrize("place", BurnPlace)
@pytest.mark.parametrize("shown", RASTERS, ids=name)
def test_a_box_covers_whole_samples_of_chroma_in_both_fields(
    shown: PictureFormat, place: BurnPlace
) -> None:
    """ITU-T H.262, figure 6-2: of interlaced 4:2:0, chroma lines belong to fields in turn."""
    across, down = {
        "yuv420p": (2, 4),
        "yuv422p10le": (2, 2),
        "yuv411p": (4, 2),
        "yuv410p": (4, 8),
        "yuv440p": (1, 4),
    }.get(shown.pixel_format, (1, 2))

    box = burn_layout(shown, place, extent_of(TIMECODE)).box

    assert (0, 0) == (box.left % across, box.width % across)
    assert (0, 0) == (box.top % down, box.height % down)


@pytest.mark.parametrize("text", [TIMECODE, TWO_LINES, "1"])
def test_a_box_is_no_larger_than_its_letters_and_what_surrounds_them(text: str) -> None:
    shown = picture()

    layout = burn_layout(shown, BurnPlace.BOTTOM, extent_of(text))

    lines = text.split("\n")
    written = (max(map(len, lines)) * layout.cell.width, len(lines) * layout.cell.height)
    spare = (layout.box.width - written[0], layout.box.height - written[1])
    assert layout.cell.width <= spare[0] < 2 * layout.cell.width
    assert 8 <= spare[1] < layout.cell.height


def test_a_longer_text_has_smaller_letters() -> None:
    heights = [capital_height(picture(), "x" * count) for count in (10, 43, 44, 50, 60, 62)]

    assert sorted(heights, reverse=True) == heights
    assert heights[0] == heights[1] > heights[2] > heights[3] > heights[4]
    assert all(height >= 10 for height in heights)


def test_letters_keep_the_size_that_the_largest_text_needs() -> None:
    largest = extent_of("x" * 60)

    sizes = {
        burn_layout(picture(), BurnPlace.BOTTOM, extent_of(text), largest).cell
        for text in ("1", TIMECODE, "x" * 60)
    }

    assert 1 == len(sizes)
    assert sizes != {burn_layout(picture(), BurnPlace.BOTTOM, extent_of("1")).cell}


def test_a_text_larger_than_the_largest_told_still_fits() -> None:
    layout = burn_layout(picture(), BurnPlace.BOTTOM, extent_of("x" * 60), extent_of("1"))

    assert layout == burn_layout(picture(), BurnPlace.BOTTOM, extent_of("x" * 60))


@pytest.mark.parametrize("shown", [*RASTERS, picture(4096, 2160, "gbrp16le")], ids=name)
def test_as_much_as_is_told_to_fit_fits_and_one_more_does_not(shown: PictureFormat) -> None:
    with pytest.raises(NotationError) as refused:
        check_burn(shown, extent_of("x" * 9999))
    told = refused.value.text.split(" fit ")[1].split()
    lines, columns = int(told[0]), int(told[3])

    check_burn(shown, extent_of("\n".join(["x" * columns] * lines)))
    for more in (extent_of("x" * (columns + 1)), extent_of("\n" * lines)):
        with pytest.raises(NotationError):
            check_burn(shown, more)


def test_a_text_that_is_too_long_is_told_with_how_much_fits() -> None:
    with pytest.raises(NotationError) as refused:
        check_burn(picture(), extent_of("x" * 80))

    told = (
        "the text to be burnt in has 1 line of 80 letters, and into pictures of 640x480 fit "
        "23 lines of 62 letters, in the smallest that can be read"
    )
    assert (told, "have less burnt in, or a larger raster") == (
        refused.value.text,
        refused.value.hint,
    )


def test_a_raster_without_room_for_one_letter_is_told() -> None:
    with pytest.raises(NotationError, match=r"no text that can be read fits into .* 20x20"):
        check_burn(picture(20, 20), extent_of("1"))


@pytest.mark.parametrize(
    ("pixel_format", "kind"),
    [
        ("rgba", "with alpha "),
        ("yuva444p10le", "with alpha "),
        ("ya8", "with alpha "),
        ("pal8", "with palettes of their own "),
        ("xyz12le", "in CIE XYZ "),
        ("gbrpf32le", ""),
        ("nv12", ""),
        ("p010le", ""),
        ("yuyv422", ""),
        ("monow", ""),
        ("gray32le", ""),
    ],
)
def test_formats_whose_samples_are_not_written_in_place_are_refused(
    pixel_format: str, kind: str
) -> None:
    with pytest.raises(NotationError) as refused:
        check_burn(picture(pixel_format=pixel_format), extent_of("1"))

    assert f"no text is burnt into pictures {kind}in pixel format {pixel_format}" == (
        refused.value.text
    )
    assert "grey, RGB or planar Y'CbCr of 8 to 16 bits" in refused.value.hint


def test_letters_are_as_wide_and_lines_as_high_as_the_font_says() -> None:
    font = FT2Font(str(font_path()))
    table = font.get_sfnt_table("hhea")
    assert table is not None
    cell = burn_layout(picture(), BurnPlace.BOTTOM, extent_of("1")).cell

    assert Fraction(table["advanceWidthMax"], font.units_per_EM) == ADVANCE
    assert cell.em * ADVANCE == cell.width
    above = cell.em * Fraction(table["ascent"], font.units_per_EM)
    below = -cell.em * Fraction(table["descent"], font.units_per_EM)
    assert 0 <= cell.baseline - above < 1
    assert 0 <= cell.height - cell.baseline - below < 1


def test_the_font_stands_beside_its_licence() -> None:
    assert "DejaVuSansMono.ttf" == font_path().name
    assert "DejaVu" in font_path().with_name("LICENSE_DEJAVU").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("module", "unwanted"),
    [
        ("retime.picture.burning", ("numpy", "PIL", "matplotlib")),
        ("retime.picture.burner", ("matplotlib",)),
    ],
)
def test_what_only_a_burner_needs_is_imported_by_it_alone(
    module: str, unwanted: tuple[str, ...]
) -> None:
    code = f"import sys, {module}; print([one for one in {unwanted} if one in sys.modules])"

    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert "[]" == done.stdout.strip()
