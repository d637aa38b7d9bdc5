"""What of a codec's pictures can be interlaced, and what a profile may ask of a codec."""

from __future__ import annotations

import re
import subprocess
from fractions import Fraction
from typing import TYPE_CHECKING

import imageio_ffmpeg
import pytest

from retime.errors import DocumentError, NotationError
from retime.film.scanning import Scanning
from retime.light.format import PictureFormat
from retime.profile.codecs import CODECS
from retime.profile.dnxhd import DNXHD, DNXHD_IDS
from retime.profile.faults import check_picture
from retime.profile.options import joined
from retime.profile.scannings import possible_scannings
from retime.profile.shelf import load_profile, shelf

if TYPE_CHECKING:
    from pathlib import Path

    from retime.profile.codec import Codec, Variant

ALL = tuple(Scanning)
PROGRESSIVE = (Scanning.PROGRESSIVE,)
NOT_BOTTOM = (Scanning.PROGRESSIVE, Scanning.TOP_FIRST)


@pytest.mark.parametrize(
    ("codec", "variant", "container", "expected"),
    [
        ("ffv1", None, "mkv", ALL),
        ("prores", "hq", "mov", ALL),
        ("h264", None, "mp4", ALL),
        ("mpeg2", None, "mkv", ALL),
        ("mpeg2", None, "mxf", ALL),
        ("dnxhd", "1080-120", "mov", ALL),
        ("dnxhd", "1080-185x", "mxf", NOT_BOTTOM),
        ("dnxhd", "1080-36", "mov", PROGRESSIVE),
        ("dnxhd", "720-90", "mov", PROGRESSIVE),
        ("dnxhr", "hqx", "mov", PROGRESSIVE),
        ("jpeg2000", None, "mov", PROGRESSIVE),
        ("dpx", None, "sequence", PROGRESSIVE),
        ("tiff", None, "sequence", PROGRESSIVE),
    ],
)
def test_a_codec_can_be_scanned_in_the_ways_that_everything_can_say(
    codec: str, variant: str | None, container: str, expected: tuple[Scanning, ...]
) -> None:
    row = CODECS[codec]

    assert expected == possible_scannings(row, row.variants.get(variant or ""), container)


@pytest.mark.parametrize("row", CODECS.values(), ids=list(CODECS))
def test_a_codec_that_cannot_be_interlaced_has_a_reason(row: Codec) -> None:
    rows: list[Codec | Variant] = [row, *row.variants.values()]
    for one in rows:
        assert Scanning.PROGRESSIVE == one.scannings[0]
        assert bool(one.not_scanned) == (Scanning.TOP_FIRST not in one.scannings)


def _ffmpegs_own_list() -> set[tuple[str, str, str]]:
    """Return raster with p or i, megabits, pixel format: what the ffmpeg program's encoder has."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-hide_banner", "-f", "lavfi"]
    command += ["-i", "testsrc=size=1000x500", "-c:v", "dnxhd", "-pix_fmt", "yuv422p"]
    refused = subprocess.run(
        [*command, "-frames:v", "1", "-f", "null", "-"],
        capture_output=True,
        check=False,
        text=True,
    )
    line = re.compile(r"Frame size: (\S+); bitrate: (\d+)Mbps; pixel format: (\w+)")
    return set(line.findall(refused.stderr))


def test_the_variants_of_dnxhd_are_those_that_the_ffmpeg_program_lists() -> None:
    listed = _ffmpegs_own_list()
    assert ("1920x1080p", "120", "yuv422p") in listed
    for variant in DNXHD.values():
        assert variant.raster is not None
        raster, rate = "x".join(map(str, variant.raster)), variant.options["b"].removesuffix("M")
        bits = variant.pixel_formats[0].removesuffix("le")
        found = {scan for scan in "pi" if (raster + scan, rate, bits) in listed}

        assert (Scanning.TOP_FIRST in variant.scannings) == ("i" in found)
        assert "p" in found


def test_every_compression_id_is_of_one_variant() -> None:
    """Those of SMPTE ST 2019-1 at 1920x1080 and 1280x720, 4:2:2, from memory."""
    assert {1235, 1237, 1238, 1241, 1242, 1243, 1250, 1251, 1252, 1253} == set(DNXHD_IDS)
    assert set(DNXHD) == set(DNXHD_IDS.values())


PROFILE = """\
format: retime-profile/1
profile: own
promises: A copy for our reading room, as it is
codec: dnxhd
variant: 1080-185x
container: mov
pixel-formats: [yuv422p10le]
scanning: [top-first, progressive]
rates: any
"""


def own(folder: Path, text: str) -> Path:
    path = folder / "own.yaml"
    path.write_text(text)
    return path


def test_the_first_scanning_that_a_profile_states_is_its_usual_one(tmp_path: Path) -> None:
    stated = load_profile(own(tmp_path, PROFILE))
    silent = load_profile(own(tmp_path, PROFILE.replace("scanning: [top-first, prog", "#")))

    assert (Scanning.TOP_FIRST, Scanning.PROGRESSIVE) == stated.scannings
    assert ALL == silent.scannings


def test_a_copy_is_scanned_as_its_plan_is_progressive() -> None:
    assert PROGRESSIVE == shelf().load("as-scanned").scannings


def test_a_variant_brings_its_pixel_formats(tmp_path: Path) -> None:
    text = PROFILE.replace("pixel-formats: [yuv422p10le]\n", "")

    assert ("yuv422p10le",) == load_profile(own(tmp_path, text)).pixel_formats


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        (
            "[top-first, progressive]",
            "[progressive, bottom-up]",
            '8:25: "bottom-up" is not known',
        ),
        (
            "codec: dnxhd\nvariant: 1080-185x",
            "codec: dnxhr\nvariant: hqx",
            "8:12: pictures cannot be top-first here: DNxHR has no interlaced form; write",
        ),
        (
            "1080-185x\ncontainer: mov\npixel-formats: [yuv422p10le]",
            "720-90x\ncontainer: mov\npixel-formats: [yuv422p10le]",
            "8:12: pictures cannot be top-first here: 1280x720 is progressive (SMPTE ST 296)",
        ),
        (
            "mov\npixel-formats: [yuv422p10le]\nscanning: [top-first",
            "mxf\npixel-formats: [yuv422p10le]\nscanning: [bottom-first",
            "8:12: pictures cannot be bottom-first here: MXF cannot say of dnxhd that the bottom",
        ),
        (
            "[yuv422p10le]",
            "[yuv422p10le, yuv422p]",
            "7:30: dnxhd 1080-185x does not hold yuv422p; it holds yuv422p10le",
        ),
        (
            "rates: any",
            "rates: any\nraster: pad\nsize: 1280x720\ndisplay-aspect: 16:9",
            "11:7: DNXHD 1080-185x has pictures of 1920x1080, not of 1280x720",
        ),
        (
            "codec: dnxhd\nvariant: 1080-185x\ncontainer: mov",
            "codec: as scanned\ncontainer: as scanned",
            "7:11: a copied codec has no encoder to be told this",
        ),
    ],
)
def test_what_a_codec_has_not_is_told_where_a_profile_asks_for_it(
    old: str, new: str, expected: str, tmp_path: Path
) -> None:
    assert old in PROFILE
    path = own(tmp_path, PROFILE.replace(old, new, 1))

    with pytest.raises(DocumentError) as refused:
        load_profile(path)

    told = [line.removeprefix(f"{path}:") for line in str(refused.value).splitlines()]
    assert any(line.startswith(expected) for line in told), told


def picture(width: int, height: int, aspect: Fraction | None = None) -> PictureFormat:
    return PictureFormat(
        width=width, height=height, pixel_format="yuv422p10le", sample_aspect=aspect
    )


def test_pictures_that_a_variant_has_no_place_for_are_refused() -> None:
    dnxhd, dnxhr = CODECS["dnxhd"], CODECS["dnxhr"]
    high = dnxhd.variants["1080-185x"]

    check_picture(dnxhd, high, "mov", picture(1920, 1080, Fraction(4, 3)))
    check_picture(dnxhr, dnxhr.variants["hqx"], "mxf", picture(256, 120, Fraction(1)))
    with pytest.raises(NotationError, match=r"has pictures of 1920x1080, not of 1440x1080; bring"):
        check_picture(dnxhd, high, "mov", picture(1440, 1080))
    with pytest.raises(NotationError, match=r"no pictures as small as 160x96; the .* 256x120"):
        check_picture(dnxhr, dnxhr.variants["hqx"], "mov", picture(160, 96))
    with pytest.raises(NotationError, match=r"^MXF of dnxhd cannot say a sample aspect of 4/3; "):
        check_picture(dnxhd, high, "mxf", picture(1920, 1080, Fraction(4, 3)))
    with pytest.raises(NotationError, match=r"^a numbered file of jpeg2000 cannot say a sample"):
        check_picture(CODECS["jpeg2000"], None, "sequence", picture(720, 576, Fraction(16, 15)))


def test_lists_of_options_add_up_and_other_options_give_way() -> None:
    assert {"a": "2", "flags": "+x-y+z", "x264-params": "p=1:q=2"} == joined(
        {"a": "1", "flags": "x", "x264-params": "p=1"},
        {"flags": "-y"},
        {"a": "2", "x264-params": "q=2", "flags": "z"},
    )
