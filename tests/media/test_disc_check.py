"""A disc's stream read back from its file, sound and with each thing wrong that can be."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from discs import AVC_OPTIONS, RATE_525, RATE_625, avc, flagged, moving, mpeg2
from msgspec.structs import replace

from retime.errors import ScanError
from retime.film.scanning import Scanning
from retime.film.speed import Rate
from retime.media.disc_check import disc_findings
from retime.media.disc_picture import Promised
from retime.media.mpeg2_patch import set_sequence
from retime.profile.disc import Disc

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

KEYS = (
    *("rates", "rasters", "display-aspects", "peak-rate", "average-rate", "buffer"),
    *("group-fields", "repeat-flags"),
)
DISC = Disc(
    rates=(RATE_525,),
    rasters=((160, 96),),
    display_aspects=(Fraction(4, 3),),
    peak_rate=9_800_000,
    average_rate=None,
    buffer=1_835_008,
    group_fields=36,
    repeat_flags=True,
    sources={key: f"the paper on {key}" for key in KEYS},
)
HIGH = replace(DISC, peak_rate=40_000_000, buffer=30_000_000, group_fields=48)
PROMISED = Promised(
    container="m2v",
    rate=RATE_525,
    raster=(160, 96),
    sample_aspect=Fraction(4, 5),
    display_aspect=Fraction(4, 3),
    scanning=Scanning.TOP_FIRST,
    fields=100,
    starts=frozenset({0}),
)
PROMISED_HIGH = replace(
    PROMISED, container="264", rate=RATE_625, sample_aspect=Fraction(40, 33), fields=60
)
RUNS = bytes([2, 3] * 20)


def found(
    path: Path, promised: Promised = PROMISED, disc: Disc = DISC, codec: str = "mpeg2"
) -> dict[str, str]:
    """Return what was found, by its rule, each without the path."""
    findings = disc_findings(path, codec, disc, promised)
    assert all(str(one.place) == str(path) for one in findings)
    return {one.rule: str(one).removeprefix(f"{path}: ") for one in findings}


@pytest.mark.parametrize("container", ["m2v", "mpg", "ts"])
def test_film_carried_by_flags_is_sound_with_a_chapter_at_any_film_frame(
    container: str, tmp_path: Path
) -> None:
    path = tmp_path / f"a.{container}"
    flagged(path, RUNS, starts={3, 4, 21})
    fields = frozenset({0, 7, 10, 52})

    assert {} == found(path, replace(PROMISED, container=container, starts=fields))


@pytest.mark.parametrize("scanning", [Scanning.TOP_FIRST, Scanning.BOTTOM_FIRST])
def test_woven_mpeg_2_is_sound_with_a_chapter_at_any_frame(
    scanning: Scanning, tmp_path: Path
) -> None:
    path = mpeg2(tmp_path / "a.m2v", 50, scanning=scanning, starts={7})
    promised = replace(PROMISED, scanning=scanning, starts=frozenset({0, 14}))

    assert {} == found(path, promised)


@pytest.mark.parametrize(
    ("container", "scanning"),
    [("264", Scanning.PROGRESSIVE), ("ts", Scanning.TOP_FIRST), ("m2ts", Scanning.BOTTOM_FIRST)],
)
def test_h264_is_sound_with_a_chapter_at_any_frame(
    container: str, scanning: Scanning, tmp_path: Path
) -> None:
    path = avc(tmp_path / f"a.{container}", 30, RATE_625, scanning, starts={7, 8})
    promised = replace(
        PROMISED_HIGH, container=container, scanning=scanning, starts=frozenset({0, 14, 16})
    )

    assert {} == found(path, promised, HIGH, "h264")


@pytest.mark.parametrize(
    ("change", "rule", "told"),
    [
        (
            {"starts": frozenset({0, 6})},
            "disc-chapter",
            "no closed group begins where a player is to be sent (from output frame 3)",
        ),
        ({"fields": 102}, "disc-length", "100 fields are shown where 102 were planned"),
        (
            {"scanning": Scanning.BOTTOM_FIRST},
            "disc-order",
            "picture 0 of the group begins with the top field (from output frame 0)",
        ),
        (
            {"scanning": Scanning.PROGRESSIVE},
            "disc-scanning",
            "the sequence is said to be interlaced (from output frame 0)",
        ),
        ({"raster": (720, 480)}, "disc-raster", "the raster is 160x96 (from output frame 0)"),
        ({"rate": RATE_625}, "disc-rate", "the frame rate's code is 4 (from output frame 0)"),
        (
            {"display_aspect": Fraction(16, 9)},
            "disc-aspect",
            "the display aspect's code is 2 (from output frame 0)",
        ),
    ],
)
def test_a_stream_that_is_not_what_was_promised_is_told(
    change: dict[str, object], rule: str, told: str, tmp_path: Path
) -> None:
    flagged(tmp_path / "a.m2v", RUNS)

    assert {rule: told} == found(tmp_path / "a.m2v", replace(PROMISED, **change))


def test_a_group_longer_than_the_disc_takes_is_told_with_the_limit_s_source(
    tmp_path: Path,
) -> None:
    flagged(tmp_path / "a.m2v", RUNS, most_fields=40)

    told = found(tmp_path / "a.m2v")

    assert {
        "disc-group": "a group shows 40 fields, the disc takes 36 (from output frame 0); "
        "the limit's source: the paper on group-fields"
    } == told


def patched(path: Path, change: Callable[[bytearray], None]) -> Path:
    """Change a stream's bytes in its file."""
    data = bytearray(path.read_bytes())
    change(data)
    path.write_bytes(data)
    return path


def opened(data: bytearray) -> None:
    """Take closed_gop away from every group."""
    at = data.find(b"\0\0\1\xb8")
    while at >= 0:
        data[at + 7] &= ~0x40
        at = data.find(b"\0\0\1\xb8", at + 1)


def broken(data: bytearray) -> None:
    """Set broken_link in the first group."""
    data[data.find(b"\0\0\1\xb8") + 7] |= 0x20


def disordered(data: bytearray) -> None:
    """Give the second coded picture a temporal reference that is far away."""
    data[data.find(b"\0\0\1\0", data.find(b"\0\0\1\0") + 1) + 4] |= 0x80


def timed(data: bytearray) -> None:
    """Have the first picture say when it is decoded."""
    at = data.find(b"\0\0\1\0")
    data[at + 5] &= ~0x01


def renamed(data: bytearray) -> None:
    """Say that the stream is of the High profile."""
    data[data.find(b"\0\0\1\xb5\x14") + 4] = 0x11


def slowed(data: bytearray) -> None:
    """Have the first sequence header state a rate at which the pictures cannot arrive."""
    head = bytearray(data[:200])
    set_sequence(head, bit_rate=400, buffer_bits=16_384, progressive=False, rate_code=4)
    data[:200] = head


@pytest.mark.parametrize(
    ("change", "rule", "told"),
    [
        (opened, "disc-chapter", "no closed group begins where a player is to be sent"),
        (broken, "disc-group", "the group says that its first pictures cannot be decoded"),
        (disordered, "disc-group", "the order in which its pictures are shown has gaps"),
        (timed, "disc-buffer", "a picture says when to decode it, as no variable rate has it"),
        (renamed, "disc-level", "the stream is not of the Main profile at Main level"),
        (slowed, "disc-buffer", "a picture is not there in time, by "),
    ],
)
def test_headers_that_a_disc_does_not_take_are_told(
    change: Callable[[bytearray], None], rule: str, told: str, tmp_path: Path
) -> None:
    flagged(tmp_path / "a.m2v", RUNS)
    path = patched(tmp_path / "a.m2v", change)

    assert found(path)[rule].startswith(told)


def test_a_peak_and_a_mean_beyond_the_disc_are_told(tmp_path: Path) -> None:
    path = tmp_path / "a.m2v"
    flagged(path, RUNS, frames=moving(len(RUNS), (160, 96), 40.0))
    small = replace(DISC, peak_rate=200_000, average_rate=150_000, buffer=16_384)

    told = found(path, disc=small)

    assert {"disc-peak", "disc-average", "disc-rate", "disc-buffer"} == set(told)
    assert told["disc-peak"].endswith("the limit's source: the paper on peak-rate")
    assert told["disc-average"].endswith("the limit's source: the paper on average-rate")
    assert told["disc-rate"].startswith("the sequence states 5000000 bits a second")
    assert told["disc-buffer"].startswith("the sequence asks for a buffer of 1835008 bits")


PLAIN = {**AVC_OPTIONS, "x264-params": "log=0:open-gop=0"}


@pytest.mark.parametrize(
    ("options", "change", "rule", "told"),
    [
        (PLAIN, {}, "disc-buffer", "the stream states no buffer (NAL HRD)"),
        (PLAIN, {}, "disc-group", "a picture has no delimiter before it"),
        (AVC_OPTIONS, {"scanning": Scanning.BOTTOM_FIRST}, "disc-order", "a picture's structure"),
        (AVC_OPTIONS, {"scanning": Scanning.PROGRESSIVE}, "disc-scanning", "the sequence is said"),
        (AVC_OPTIONS, {"raster": (1920, 1080)}, "disc-raster", "the raster is 160x96"),
        (AVC_OPTIONS, {"rate": RATE_525}, "disc-rate", "the rate is said to be 25 frames"),
        (AVC_OPTIONS, {"sample_aspect": Fraction(1)}, "disc-aspect", "the sample aspect is said"),
        (AVC_OPTIONS, {"starts": frozenset({2})}, "disc-chapter", "no closed group begins"),
        (
            {**AVC_OPTIONS, "g": "30"},
            {},
            "disc-group",
            "a group shows 60 fields",
        ),
        (
            {**AVC_OPTIONS, "level": "5.1"},
            {},
            "disc-level",
            "the stream is of profile",
        ),
        ({**AVC_OPTIONS, "bufsize": "40000000"}, {}, "disc-buffer", "the stream asks for a buffer"),
        ({**AVC_OPTIONS, "maxrate": "45000000"}, {}, "disc-rate", "the stream states 45000000"),
    ],
)
def test_h264_that_a_disc_does_not_take_is_told(
    options: dict[str, str], change: dict[str, object], rule: str, told: str, tmp_path: Path
) -> None:
    path = avc(tmp_path / "a.264", 30, options=options)

    assert found(path, replace(PROMISED_HIGH, **change), HIGH, "h264")[rule].startswith(told)


def test_pictures_that_come_late_by_the_stream_s_own_buffer_are_told(tmp_path: Path) -> None:
    """25 frames a second shown as 100000: the buffer has no time to fill."""
    options = {**AVC_OPTIONS, "b": "1000000", "maxrate": "1000000", "bufsize": "40000"}
    path = avc(tmp_path / "a.264", 60, options=options)
    promised = replace(PROMISED_HIGH, rate=Rate(Fraction(100_000)))

    assert "a picture is not there in time" in found(path, promised, HIGH, "h264")["disc-buffer"]


@pytest.mark.parametrize("codec", ["mpeg2", "h264"])
def test_what_is_no_such_stream_is_a_finding_and_no_file_an_error(
    codec: str, tmp_path: Path
) -> None:
    path = tmp_path / "a.m2v"
    path.write_bytes(b"\0\0\1\0\1\0\0\1\x01\x80" * 3)

    assert "disc-stream" in found(path, codec=codec)
    with pytest.raises(ScanError):
        found(tmp_path / "b.m2v", codec=codec)


def test_an_empty_file_shows_nothing_of_what_was_planned(tmp_path: Path) -> None:
    (tmp_path / "a.m2v").write_bytes(b"")

    assert {"disc-length", "disc-chapter"} == set(found(tmp_path / "a.m2v"))
