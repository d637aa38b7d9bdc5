"""Discs' limits, as published, and what profiles may not promise beyond them.

Published: Panasonic's page What's Blu-ray (rasters and rates); the encyclopaedia article on
DVD-Video (frame size and frame rate: rasters, rates, 9.8 Mbit/s); a disc-authoring manual's
requirements for MPEG-2 (36 fields or 18 frames for 525 lines, 30 or 15 for 625; VBV 1 835 008
bits; film stored at 24 for 525 lines); mpeg.org's table Video Data Specifications (4:3 and 16:9).
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import asdict

from retime.errors import DocumentError
from retime.film.scanning import Scanning
from retime.film.speed import Rate
from retime.profile.shelf import load_profile, shelf, shipped_folder

if TYPE_CHECKING:
    from pathlib import Path

DISCS = tuple(sorted(name for name in shelf().files if name.startswith("disc-")))
NTSC, FILM = Rate(Fraction(30000, 1001)), Rate(Fraction(24000, 1001))
MEMORY = "from memory"


def complaints(name: str, changes: dict[str, str], folder: Path) -> list[str]:
    """Return what is wrong with a shipped profile after changes to its text."""
    text = (shipped_folder() / f"{name}.yaml").read_text(encoding="utf-8")
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    path = folder / f"{name}.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(DocumentError) as refused:
        load_profile(path)
    return [str(one).removeprefix(f"{path}:") for one in refused.value.findings]


@pytest.mark.parametrize(
    ("name", "size", "rate", "fields"),
    [("disc-sd-525", (720, 480), NTSC, 36), ("disc-sd-625", (720, 576), Rate(Fraction(25)), 30)],
)
def test_standard_definition_discs_have_their_published_limits(
    name: str, size: tuple[int, int], rate: Rate, fields: int
) -> None:
    profile = shelf().load(name)

    assert size == profile.size
    assert (rate,) == profile.rates
    assert Scanning.TOP_FIRST is profile.scannings[0]
    assert profile.disc is not None
    assert (rate,) == profile.disc.rates
    assert {size, (704, size[1]), (352, size[1])} == set(profile.disc.rasters)
    assert (9_800_000, 1_835_008) == (profile.disc.peak_rate, profile.disc.buffer)
    assert fields == profile.disc.group_fields
    assert {Fraction(4, 3), Fraction(16, 9)} == set(profile.disc.display_aspects)
    assert profile.disc.repeat_flags
    assert MEMORY in profile.disc.sources["average-rate"]


def test_whether_discs_of_625_lines_take_repeat_flags_is_stated_as_unverified() -> None:
    profile = shelf().load("disc-sd-625")

    assert profile.disc is not None
    assert profile.disc.sources["repeat-flags"].startswith("unverified")
    assert "is unverified" in profile.caution


@pytest.mark.parametrize(
    ("name", "rates", "scanning", "fields"),
    [
        ("disc-hd-24", {FILM, Rate(Fraction(24))}, Scanning.PROGRESSIVE, 48),
        ("disc-hd-interlaced", {NTSC, Rate(Fraction(25))}, Scanning.TOP_FIRST, 50),
    ],
)
def test_high_definition_discs_have_their_published_rates_and_rasters(
    name: str, rates: set[Rate], scanning: Scanning, fields: int
) -> None:
    """From memory: 40 Mbit/s, a buffer of 30 Mbit, 16:9, groups of at most a second."""
    profile = shelf().load(name)

    assert (1920, 1080) == profile.size
    assert rates == set(profile.rates)
    assert (scanning,) == profile.scannings
    assert profile.disc is not None
    assert rates == set(profile.disc.rates)
    assert {(1920, 1080), (1440, 1080)} == set(profile.disc.rasters)
    assert (40_000_000, 30_000_000) == (profile.disc.peak_rate, profile.disc.buffer)
    assert fields == profile.disc.group_fields
    for key in ("peak-rate", "buffer", "group-fields", "display-aspects"):
        assert MEMORY in profile.disc.sources[key]


@pytest.mark.parametrize("name", [one for one in DISCS if not one.endswith("-muxed")])
def test_a_muxed_profile_differs_in_nothing_but_what_wraps_the_stream(name: str) -> None:
    plain, muxed = (asdict(shelf().load(one)) for one in (name, f"{name}-muxed"))

    changed = {key for key, value in plain.items() if value != muxed[key]}
    assert {"name", "path", "promises", "container", "caution"} == changed


@pytest.mark.parametrize("name", DISCS)
def test_the_encoder_may_never_put_more_into_a_second_than_the_disc_takes(name: str) -> None:
    """What arrives in a second, and what was waiting in the buffer before it."""
    profile = shelf().load(name)

    assert profile.disc is not None
    options = profile.encoder_options()
    assert int(options["maxrate"]) + int(options["bufsize"]) <= profile.disc.peak_rate
    assert 2 * int(options["g"]) <= profile.disc.group_fields


@pytest.mark.parametrize(
    ("changes", "complaint"),
    [
        (
            {"rates: [30000/1001]\n#": "rates: [30000/1001, 24]\n#"},
            "7:8: the disc has no rate of 24; write [30000/1001]",
        ),
        (
            {"rates: [30000/1001]\n#": "rates: any\n#"},
            "7:8: the disc has not any rate; write [30000/1001]",
        ),
        (
            {"size: 720x480": "size: 640x480"},
            "12:7: the disc has no such raster; write size: 720x480 or 704x480 or 352x480",
        ),
        (
            {"display-aspect: 4:3": "display-aspect: 37:20"},
            "13:17: the disc has no such display aspect; write 4:3 or 16:9",
        ),
        (
            {'maxrate: "7900000"': 'maxrate: "9900000"'},
            "18:12: 9900000 is beyond the disc's limit; at most 9800000",
        ),
        (
            {'maxrate: "7900000"': 'maxrate: "9000000"'},
            (
                "18:12: maxrate and bufsize allow 10835008 bits in a second, the disc 9800000; "
                "make one of them smaller"
            ),
        ),
        (
            {'  bufsize: "1835008"\n': ""},
            (
                "17:3: the encoder is not told bufsize, which a disc limits; "
                "add bufsize as a whole number"
            ),
        ),
        ({'g: "18"': 'g: "19"'}, "20:6: 19 is beyond the disc's limit; at most 18"),
        (
            {"limit: 9800000": "limit: 9.8M"},
            "37:12: '9.8M' is no number; write a whole number such as 9800000",
        ),
        (
            {"    source: from memory, common practice for the sake of older players\n": ""},
            '39:3: "source" is missing',
        ),
        ({"limit: yes": "limit: maybe"}, "'maybe' is neither yes nor no; write yes or no"),
        ({"limit: [4:3, 16:9]": "limit: 4:3"}, "a list belongs here; write [one, another]"),
        (
            {"codec: mpeg2\ncontainer: m2v": "codec: ffv1\ncontainer: mkv"},
            "no disc here takes ffv1",
        ),
    ],
)
def test_a_profile_beyond_its_disc_is_refused_at_the_line(
    changes: dict[str, str], complaint: str, tmp_path: Path
) -> None:
    told = complaints("disc-sd-525", changes, tmp_path)

    assert any(complaint in one for one in told), told
