"""A picture comes into another raster without being distorted: where from, and where to."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retime.errors import NotationError
from retime.light.raster import (
    Fit,
    Raster,
    Rectangle,
    fit_into,
    parse_aspect,
    parse_size,
    raster_of,
)

FOUR_THREE, SIXTEEN_NINE = Fraction(4, 3), Fraction(16, 9)
HD = raster_of((1920, 1080), SIXTEEN_NINE, None)
EVEN = (2, 2)


def scan(width: int, height: int, sample_aspect: Fraction = Fraction(1)) -> Raster:
    return Raster(width=width, height=height, sample_aspect=sample_aspect, active_width=width)


def fitted(own: Raster, target: Raster, fit: Fit, steps: tuple[int, int] = EVEN) -> tuple[str, str]:
    """Return what is taken and where it is placed, as width x height + left + top."""
    found = fit_into(own, target, fit, steps, steps)
    return str(found.taken), str(found.placed)


@pytest.mark.parametrize(
    ("size", "display", "active", "expected"),
    [
        # Rec. ITU-T H.264, table E-1: 12:11 is for 720x576 at 4:3 with horizontal overscan, 10:11
        # for 720x480, 16:11 and 40:33 for both at 16:9, and 4:3 for 1440x1080 at 16:9.
        ((720, 576), FOUR_THREE, 704, "12/11"),
        ((720, 480), FOUR_THREE, 704, "10/11"),
        ((720, 576), SIXTEEN_NINE, 704, "16/11"),
        ((720, 480), SIXTEEN_NINE, 704, "40/33"),
        ((704, 576), FOUR_THREE, None, "12/11"),
        ((704, 480), FOUR_THREE, None, "10/11"),
        ((1440, 1080), SIXTEEN_NINE, None, "4/3"),
        ((1920, 1080), SIXTEEN_NINE, None, "1"),
        ((1280, 720), SIXTEEN_NINE, None, "1"),
        ((640, 480), FOUR_THREE, None, "1"),
        # All 720 samples taken for the picture: common practice.
        ((720, 576), FOUR_THREE, 720, "16/15"),
        ((720, 480), FOUR_THREE, None, "8/9"),
        ((720, 576), SIXTEEN_NINE, None, "64/45"),
        ((720, 480), SIXTEEN_NINE, 720, "32/27"),
    ],
)
def test_the_sample_aspect_follows_from_display_aspect_and_active_width(
    size: tuple[int, int], display: Fraction, active: int | None, expected: str
) -> None:
    raster = raster_of(size, display, active)

    assert expected == str(raster.sample_aspect)
    assert display == raster.shape


def test_samples_are_square_where_no_display_aspect_is_told() -> None:
    assert Fraction(1) == raster_of((2048, 1556), None, None).sample_aspect


@pytest.mark.parametrize(
    ("own", "target", "placed"),
    [
        # Full-frame 1.33 in 16:9: 1080 x 4/3 = 1440, and (1920 - 1440)/2 = 240 black on each side.
        (scan(1440, 1080), HD, "1440x1080+240+0"),
        (scan(2048, 1536), HD, "1440x1080+240+0"),
        (scan(640, 480), HD, "1440x1080+240+0"),
        # The same picture from samples that are not square: 720 x 16/15 to 576, 720 x 8/9 to 480.
        (scan(720, 576, Fraction(16, 15)), HD, "1440x1080+240+0"),
        (scan(720, 480, Fraction(8, 9)), HD, "1440x1080+240+0"),
        (scan(704, 576, Fraction(12, 11)), HD, "1440x1080+240+0"),
        # Academy 1.375: 1080 x 1.375 = 1485, which halved chroma makes 1486.
        (scan(2750, 2000), HD, "1486x1080+216+0"),
        (scan(1440, 1080), raster_of((720, 576), FOUR_THREE, 704), "704x576+8+0"),
        (scan(1440, 1080), raster_of((720, 576), FOUR_THREE, 720), "720x576+0+0"),
        (scan(1440, 1080), raster_of((720, 480), FOUR_THREE, 704), "704x480+8+0"),
        (scan(1440, 1080), raster_of((720, 480), FOUR_THREE, None), "720x480+0+0"),
        # 4:3 in anamorphic 16:9 of 704: 3/4 of the active width.
        (scan(1440, 1080), raster_of((720, 576), SIXTEEN_NINE, 704), "528x576+96+0"),
        # Wider than the raster: 704 x 10/11 to 640/1.85 = 345.9 lines.
        (scan(1998, 1080), raster_of((720, 480), FOUR_THREE, 704), "704x346+8+66"),
        (scan(1920, 1080), HD, "1920x1080+0+0"),
    ],
)
def test_padding_paints_the_whole_picture_in_the_middle(
    own: Raster, target: Raster, placed: str
) -> None:
    assert (f"{own.width}x{own.height}+0+0", placed) == fitted(own, target, Fit.PAD)


@pytest.mark.parametrize(
    ("own", "target", "taken", "placed"),
    [
        # 1.33 in 16:9 loses a quarter of its height: 1440 x 9/16 = 810, 135 above and below.
        (scan(1440, 1080), HD, "1440x810+0+134", "1920x1080+0+0"),
        (scan(2048, 1536), HD, "2048x1152+0+192", "1920x1080+0+0"),
        # 1.375 in 4:3 loses 3 % of its width: 2000 x 4/3 = 2666.7.
        (scan(2750, 2000), raster_of((720, 576), FOUR_THREE, 704), "2666x2000+42+0", "704x576+8+0"),
        (scan(2750, 2000), raster_of((720, 480), FOUR_THREE, 720), "2666x2000+42+0", "720x480+0+0"),
        (scan(1440, 1080), raster_of((720, 576), FOUR_THREE, 704), "1440x1080+0+0", "704x576+8+0"),
        (scan(1440, 1080), raster_of((720, 576), FOUR_THREE, 720), "1440x1080+0+0", "720x576+0+0"),
        # 720 x 16/15 to 576 is 4:3, so 576 x 3/4 = 432 of its lines are 16:9.
        (scan(720, 576, Fraction(16, 15)), HD, "720x432+0+72", "1920x1080+0+0"),
    ],
)
def test_filling_takes_the_middle_that_has_the_rasters_shape(
    own: Raster, target: Raster, taken: str, placed: str
) -> None:
    assert (taken, placed) == fitted(own, target, Fit.FILL)


def test_positions_and_sizes_are_single_samples_where_chroma_asks_for_no_more() -> None:
    assert ("2750x2000+0+0", "1485x1080+217+0") == fitted(scan(2750, 2000), HD, Fit.PAD, (1, 1))
    assert ("1440x810+0+135", "1920x1080+0+0") == fitted(scan(1440, 1080), HD, Fit.FILL, (1, 1))


def test_an_uneven_scan_is_taken_whole_whatever_its_chroma() -> None:
    assert "1441x1081+0+0" == fitted(scan(1441, 1081), HD, Fit.PAD)[0]


_SIDES = st.integers(min_value=120, max_value=6000)
_ASPECTS = st.sampled_from([Fraction(*pair) for pair in ((1, 1), (16, 15), (10, 11), (40, 33))])
_TARGETS = st.sampled_from(
    [
        HD,
        raster_of((720, 576), FOUR_THREE, 704),
        raster_of((720, 480), SIXTEEN_NINE, 704),
        raster_of((720, 480), FOUR_THREE, None),
        raster_of((2048, 1556), None, None),
    ]
)


@given(
    width=_SIDES,
    height=_SIDES,
    aspect=_ASPECTS,
    target=_TARGETS,
    fit=st.sampled_from([Fit.PAD, Fit.FILL]),
    step=st.sampled_from([1, 2]),
)
def test_nothing_is_distorted_by_more_than_half_a_step(  # noqa: PLR0913, PLR0917 - one law
    width: int, height: int, aspect: Fraction, target: Raster, fit: Fit, step: int
) -> None:
    own = scan(width, height, aspect)
    found = fit_into(own, target, fit, (step, step), (step, step))
    taken, placed = found.taken, found.placed

    exact_width = Fraction(taken.width, taken.height) * aspect * placed.height
    off_placed = abs(exact_width / target.sample_aspect - placed.width)
    off_placed_down = off_placed * placed.height / placed.width
    across = target.sample_aspect / aspect * taken.height / placed.height
    off_taken = off_placed * across
    off_taken_down = off_placed_down * taken.height / placed.height
    half = Fraction(step, 2) * Fraction(101, 100)  # measured along one side, rounded on the other
    if fit is Fit.PAD:
        assert min(off_placed, off_placed_down) <= half
    else:
        assert min(off_taken, off_taken_down) <= half


@given(width=_SIDES, height=_SIDES, target=_TARGETS, step=st.sampled_from([1, 2]))
def test_the_picture_reaches_the_active_part_and_stays_inside_it(
    width: int, height: int, target: Raster, step: int
) -> None:
    def margins(part: Rectangle, whole: Raster) -> tuple[int, int]:
        left, right = part.left, whole.width - part.left - part.width
        above, below = part.top, whole.height - part.top - part.height
        assert 0 <= right - left <= 2 * step, "it stands in the middle"
        assert 0 <= below - above <= 2 * step, "it stands in the middle"
        assert [0, 0] == [left % step, part.top % step]
        return left + right, above + below

    own = scan(width, height)
    pad = fit_into(own, target, Fit.PAD, (step, step), (step, step))
    fill = fit_into(own, target, Fit.FILL, (step, step), (step, step))
    beside = target.width - target.active_width

    across, down = margins(pad.placed, target)
    assert across >= beside
    assert across == beside or down == 0
    assert (beside, 0) == margins(fill.placed, target)
    across, down = margins(fill.taken, own)
    assert 0 in {across, down}


@pytest.mark.parametrize("text", ["1920", "1920x", "0x1080", "1920x0", "1920 x 1080", "-1x2", "HD"])
def test_a_raster_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(NotationError, match="is no raster; write width x height: 1920x1080"):
        parse_size(text)


def test_a_raster_beyond_any_scanner_is_refused() -> None:
    assert (16384, 12288) == parse_size("16384x12288")
    with pytest.raises(NotationError, match="too large; a side has at most 16384"):
        parse_size("16385x16")


@pytest.mark.parametrize("text", ["16/9", "1.78", "16:0", "0:9", "16:9:1", "wide", "99999:1"])
def test_a_display_aspect_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(NotationError, match="is no display aspect; write width : height: 16:9"):
        parse_aspect(text)
