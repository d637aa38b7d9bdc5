"""The flash check of movies that the ffmpeg program wrote, and of what is no movie.

The limits are those of WCAG 2.2 (W3C 2023) and Rec. ITU-R BT.1702-3 (2023); codes of narrow range
by Rec. ITU-R BT.1886 with a peak of 200 cd/m2.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import av
import pytest
from flashing_files import write_flashing
from flickering import answer

from retime.check.flash_file import flashes_of_file, pictures_of_file
from retime.check.flash_limits import Kind, Standard
from retime.errors import ScanError

if TYPE_CHECKING:
    from pathlib import Path

CODECS = {
    "h264.mp4": ("-c:v", "libx264", "-qp", "12", "-pix_fmt", "yuv420p"),
    "prores.mov": ("-c:v", "prores_ks", "-pix_fmt", "yuv422p10le"),
    "ffv1.mkv": ("-c:v", "ffv1", "-pix_fmt", "yuv420p"),
}


def fails(path: Path, kind: Kind = Kind.GENERAL) -> list[bool]:
    """Return whether a file fails by WCAG, and by BT.1702."""
    report = flashes_of_file(path)
    return [not answer(report, kind, standard).passes for standard in Standard]


@pytest.mark.parametrize("name", CODECS)
@pytest.mark.parametrize("rate", ["24", "30000/1001"])
def test_one_dark_frame_in_so_many_passes_at_three_a_second_and_fails_above(
    name: str, rate: str, tmp_path: Path
) -> None:
    # Three a second are one in 8 at 24, and one in 10 at 30000/1001 (2.997).
    third = 8 if rate == "24" else 10
    frames = 30
    for every, too_many in ((third, False), (third - 1, True), (2, True)):
        path = write_flashing(
            tmp_path / f"{every}-{name}",
            f"if(mod(N,{every}),235,16)",
            frames=frames,
            rate=rate,
            codec=CODECS[name],
        )

        assert [too_many] * 2 == fails(path), every


def test_alternate_frames_are_told_as_twelve_flashes_from_the_first_on(tmp_path: Path) -> None:
    path = write_flashing(tmp_path / "film.mkv", "if(mod(N,2),235,16)", frames=36)
    report = flashes_of_file(path)
    worst = answer(report, Kind.GENERAL, Standard.WCAG).worst

    assert "film.mkv" == report.name
    assert [24, Fraction(3, 2), 36] == [report.rate, report.runtime, report.pictures]
    assert worst is not None
    assert [12, 1, Fraction(1, 24)] == [worst.flashes, worst.area, worst.start]


@pytest.mark.parametrize(
    ("dark", "light", "too_many"),
    [
        # BT.1886: 20 of 200 cd/m2 is code 99.9 of narrow range, 160 is 215.6.
        (16, 99, False),
        (16, 100, True),
        (215, 235, True),
        (216, 235, False),
    ],
)
@pytest.mark.parametrize("name", ["ffv1.mkv", "prores.mov"])
def test_codes_of_narrow_range_are_shown_as_a_television_shows_them(
    name: str, dark: int, light: int, *, too_many: bool, tmp_path: Path
) -> None:
    luma = f"if(mod(N,2),{light},{dark})"
    path = write_flashing(tmp_path / name, luma, frames=14, codec=CODECS[name])

    assert too_many is fails(path)[1]


@pytest.mark.parametrize(("width", "too_many"), [(168, False), (184, True)])
def test_a_quarter_of_341_by_256_pixels_of_1024_by_768_may_flash_and_more_may_not(
    width: int, tmp_path: Path, *, too_many: bool
) -> None:
    # WCAG: a quarter is 170.5 x 128. Areas are found to a block of 10.7 pixels.
    luma = f"if(mod(N,2)*between(X,320,{319 + width})*between(Y,128,255),235,16)"
    path = write_flashing(tmp_path / "film.mkv", luma, frames=10, size=(1024, 768))

    assert [too_many, False] == fails(path)


def test_red_flashes_are_found_in_a_movie_and_those_of_blue_are_none(tmp_path: Path) -> None:
    # Red of BT.601 in narrow range is luma 81, Cb 90, Cr 240; blue is 41, 240, 110.
    luma, cr = "if(mod(N,2),81,16)", "if(mod(N,2),240,128)"
    red = write_flashing(
        tmp_path / "red.mkv", luma, frames=24, after=f",geq=lum='p(X,Y)':cb=cb(X\\,Y):cr='{cr}'"
    )
    blue = write_flashing(tmp_path / "blue.mkv", "if(mod(N,2),41,16)", frames=24, chroma=(240, 110))

    assert [True, True] == fails(red, Kind.RED)
    assert [False, False] == fails(blue, Kind.RED)


def test_fields_are_seen_one_after_the_other(tmp_path: Path) -> None:
    # Fields black and white in turn are 25 flashes a second, which no whole frame shows.
    path = write_flashing(
        tmp_path / "film.mov",
        "if(mod(N,2),235,16)",
        frames=25,
        rate="50",
        after=",tinterlace=interleave_top,setfield=tff",
        codec=("-c:v", "prores_ks", "-flags", "+ildct", "-pix_fmt", "yuv422p10le"),
    )
    report = flashes_of_file(path)
    worst = answer(report, Kind.GENERAL, Standard.BROADCAST).worst

    assert [50, 50] == [report.pictures, pictures_of_file(path)]
    assert [25, 1] == [report.rate, report.runtime]
    assert worst is not None
    assert worst.flashes > 24


def test_pictures_count_at_the_times_that_the_file_tells(tmp_path: Path) -> None:
    # One dark frame in six: two flashes a second for 2 s at 12 frames, then four at 24.
    path = write_flashing(
        tmp_path / "film.mp4",
        "if(mod(N,6),235,16)",
        frames=72,
        after=",setpts='if(lt(N,24),N/12,2+(N-24)/24)/TB'",
        codec=(*CODECS["h264.mp4"], "-fps_mode", "passthrough", "-enc_time_base", "1:24000"),
    )
    report = flashes_of_file(path)
    found = answer(report, Kind.GENERAL, Standard.BROADCAST)

    assert report.rate is None
    # The end of the dark frame at 18/12 s, three flashes of a quarter of a second from 2 s on.
    assert [19 / 12] == pytest.approx([float(run.start) for run in found.failing], abs=1e-5)
    assert 2 >= max(found.series[:2])
    assert 4 == max(found.series)


def test_what_is_no_movie_is_refused_with_its_name(tmp_path: Path) -> None:
    empty, text = tmp_path / "empty.mkv", tmp_path / "text.mp4"
    empty.touch()
    text.write_text("no movie at all")
    for path in (empty, text, tmp_path / "away.mov", tmp_path):
        with pytest.raises(ScanError) as refused:
            flashes_of_file(path)

        assert str(path) in str(refused.value)


def test_a_movie_that_is_cut_short_is_no_movie_that_passes(tmp_path: Path) -> None:
    fast = ("-c:v", "libx264", "-movflags", "+faststart")
    for name, codec in (("film.mkv", CODECS["ffv1.mkv"]), ("film.mp4", fast)):
        path = write_flashing(tmp_path / name, "random(0)*255", frames=24, codec=codec)
        whole = path.read_bytes()
        path.write_bytes(whole[: len(whole) // 2])

        with pytest.raises(ScanError, match=name):
            flashes_of_file(path)


def test_pictures_that_the_index_names_and_the_reader_does_not_find_are_missed(
    tmp_path: Path,
) -> None:
    # Cut between two pictures, with the index in front: the program says nothing of it.
    codec = (*CODECS["prores.mov"], "-movflags", "+faststart")
    path = write_flashing(tmp_path / "film.mov", "random(0)*255", frames=12, codec=codec)
    with av.open(str(path)) as movie:
        starts = [packet.pos or 0 for packet in movie.demux(video=0) if packet.size]
    path.write_bytes(path.read_bytes()[: starts[5]])

    with pytest.raises(ScanError, match="holds 12 pictures, and 5"):
        flashes_of_file(path)


def test_numbered_files_say_no_speed_and_are_refused(tmp_path: Path) -> None:
    write_flashing(tmp_path / "p%03d.png", "16", frames=2, codec=())

    with pytest.raises(ScanError, match="how fast"):
        flashes_of_file(tmp_path / "p%03d.png")


def test_high_dynamic_range_is_refused_rather_than_judged_by_other_limits(tmp_path: Path) -> None:
    path = write_flashing(
        tmp_path / "film.mkv", "16", frames=2, after=",setparams=color_trc=smpte2084"
    )

    with pytest.raises(ScanError, match="high dynamic range"):
        flashes_of_file(path)
