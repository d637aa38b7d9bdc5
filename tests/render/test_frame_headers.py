"""Rates, numbers and timecodes that codecs write into their frames are the deliverable's."""

from __future__ import annotations

import re
import struct
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest
from numbered import write_scan
from rendering import ffmpeg, listed, look, made, picture_hashes, write_map
from scan_kinds import KINDS, RATES
from sounds import RATE, write_wav

from retime.film.speed import Rate
from retime.media.dpx_header import DpxTimes, with_dpx_times

if TYPE_CHECKING:
    from pathlib import Path

# SMPTE RDD 36, frame_rate_code, as read in public implementations; 18 and 48 have none.
PRORES_CODES = {
    "24000/1001": 1,
    "24": 2,
    "25": 3,
    "30000/1001": 4,
    "30": 5,
    "48": 0,
    "50": 6,
    "60000/1001": 7,
    "60": 8,
    "18": 0,
}
RATE_BYTE = 17  # after "icpf": sizes, version, creator, raster, chroma; low half the rate's code


def _headers(data: bytes | bytearray) -> list[int]:
    return [found.start() for found in re.finditer(b"icpf", data)]


def _patch(path: Path, value: int) -> None:
    """Make every ProRes frame header of a file claim an aspect and a rate."""
    data = bytearray(path.read_bytes())
    for at in _headers(data):
        data[at + RATE_BYTE] = value
    path.write_bytes(data)


def _claims(path: Path) -> set[int]:
    data = path.read_bytes()
    return {data[at + RATE_BYTE] for at in _headers(data)}


def _deliverables(profile: str) -> str:
    return "\n".join(
        f"  r{number}: {{version: v, profile: {profile}, rate: {rate}}}"
        for number, rate in enumerate(RATES)
    )


def test_prores_frames_that_claim_a_rate_are_given_the_deliverables(tmp_path: Path) -> None:
    scan = KINDS["prores"].write(tmp_path)
    _patch(scan, 0x33)  # aspect code 3 (16:9), rate code 3 (25)
    speed_map = write_map(
        tmp_path, "  - {reel: 1, scan: scan.mov}", _deliverables("prores-mezzanine")
    )

    paths = made(speed_map, tmp_path / "out")

    for number, rate in enumerate(RATES):
        assert {0x30 | PRORES_CODES[rate]} == _claims(paths[f"r{number}"]), rate
    unrepeated = paths[f"r{RATES.index('18')}"]
    assert picture_hashes(scan, "yuv422p10le") == picture_hashes(unrepeated, "yuv422p10le")


def test_prores_frames_that_claim_no_rate_are_left_as_they_are(tmp_path: Path) -> None:
    scan = KINDS["prores"].write(tmp_path)
    _patch(scan, 0x30)
    speed_map = write_map(
        tmp_path,
        "  - {reel: 1, scan: scan.mov}",
        "  a: {version: v, profile: as-scanned, rate: 25}",
    )

    (copy,) = made(speed_map, tmp_path / "out").values()

    assert {0x30} == _claims(copy)


@pytest.mark.parametrize("rates", [("24",), ("24", "25", "18")])
def test_prores_frames_have_the_rate_where_the_muxer_keeps_them_until_sound_has_come(
    rates: tuple[str, ...], tmp_path: Path
) -> None:
    scan = KINDS["prores"].write(tmp_path)
    _patch(scan, 0x34)  # rate code 4 (30000/1001)
    write_wav(tmp_path / "s.wav", np.zeros((3 * RATE, 1), np.int64))
    asked = "version: v, profile: prores-mezzanine, sound: {file: s.wav}"
    speed_map = write_map(
        tmp_path,
        "  - {reel: 1, scan: scan.mov}",
        "\n".join(f"  r{rate}: {{{asked}, rate: {rate}}}" for rate in rates),
        versions="  v: {speed: 8 fps}",  # so that they last longer than a block of sound
    )

    paths = made(speed_map, tmp_path / "out")

    for rate in rates:
        assert {0x30 | PRORES_CODES[rate]} == _claims(paths[f"r{rate}"]), rate


# SMPTE ST 268 (DPX 2.0): places of the fields, from memory.
PICTURE_AT, FILE_SIZE, PROJECT = 4, 16, slice(260, 460)
FRAME_POSITION, FILM_RATE, TIMECODE, TELEVISION_RATE = 1712, 1724, 1920, 1940
UNDEFINED = 0xFFFFFFFF


def _field(data: bytes, at: int, kind: str) -> float:
    value = struct.unpack_from({b"SDPX": ">", b"XPDS": "<"}[data[:4]] + kind, data, at)[0]
    assert isinstance(value, int | float)
    return value


def _labels(path: Path) -> list[str]:
    """Return the timecodes that the ffmpeg program reads in a folder of DPX files."""
    first = str(min(path.glob("*.dpx"))).replace("0000000.dpx", "%07d.dpx")
    done = ffmpeg("-i", first, "-vf", "metadata=print:file=-", "-f", "null", "-")
    return re.findall(r"timecode=(\S+)", done.stdout.decode())


@pytest.mark.parametrize("name", ["dpx-10", "ffv1-rgb"])
@pytest.mark.parametrize("rate", ["24", "30000/1001", "18"])
def test_dpx_headers_have_the_deliverables_rate_number_and_timecode(
    name: str, rate: str, tmp_path: Path
) -> None:
    kind = KINDS[name]
    kind.write(tmp_path)
    speed_map = write_map(
        tmp_path,
        f"  - {{reel: 1, scan: {kind.file}}}",
        f"  dpx: {{version: v, profile: dpx-sequence, rate: {rate}}}",
    )

    (folder,) = made(speed_map, tmp_path / "out").values()

    rows = listed(speed_map, "dpx")
    assert [row["timecode"].replace(";", ":") for row in rows] == _labels(folder)
    exact = struct.unpack("f", struct.pack("f", float(Fraction(rate))))[0]
    files = sorted(folder.glob("*.dpx"))
    assert len(rows) == len(files)
    for number, file in enumerate(files):
        data = file.read_bytes()
        assert (exact, exact) == (_field(data, FILM_RATE, "f"), _field(data, TELEVISION_RATE, "f"))
        assert number == _field(data, FRAME_POSITION, "I")
        assert len(data) == _field(data, FILE_SIZE, "I")
        assert b"title=Numbers" in data[PROJECT]


def test_a_rate_without_whole_labels_leaves_dpx_timecode_undefined(tmp_path: Path) -> None:
    KINDS["dpx-10"].write(tmp_path)
    speed_map = write_map(
        tmp_path,
        "  - {reel: 1, scan: scan/%06d.dpx}",
        "  dpx: {version: v, profile: dpx-sequence, rate: 25/2}",
    )

    (folder,) = made(speed_map, tmp_path / "out").values()

    # All bits set is ST 268's "undefined"; the ffmpeg program does not know it, and reads zeros.
    values = {_field(file.read_bytes(), TIMECODE, "I") for file in folder.glob("*.dpx")}
    assert {UNDEFINED} == values


@pytest.mark.parametrize("pixel_format", ["gbrp10be", "gbrp10le", "rgb48be", "rgb48le", "gray"])
def test_a_dpx_file_without_film_headers_gets_them_and_keeps_its_picture(
    pixel_format: str, tmp_path: Path
) -> None:
    write_scan(tmp_path / "scan" / "%06d.dpx", [77], "dpx", pixel_format)
    before = tmp_path / "scan" / "000000.dpx"
    data = before.read_bytes()
    assert 1664 == _field(data, PICTURE_AT, "I")  # FFmpeg writes the generic headers only
    times = DpxTimes(
        rate=Rate(Fraction(30000, 1001)), number=1800, timecode="00:01:00;02"
    )  # SMPTE ST 12-1's rule: the 1800th frame after 00:00:00;00

    once = with_dpx_times(data, times, {"title": "Numbers"})
    twice = with_dpx_times(once, times, {"title": "Numbers"})

    assert once == twice  # what has the headers is changed in place
    assert 2048 == _field(once, PICTURE_AT, "I")
    assert data[1664:] == once[2048:]
    after = tmp_path / "after" / "x.0000000.dpx"
    after.parent.mkdir()
    after.write_bytes(once)
    assert picture_hashes(before, pixel_format) == picture_hashes(after, pixel_format)
    assert ["00:01:00:02"] == _labels(after.parent)
    assert (77,) == look(after.parent).numbers


def test_what_is_no_dpx_file_is_left_as_it_is() -> None:
    times = DpxTimes(rate=Rate(Fraction(24)), number=0, timecode=None)
    early = b"SDPX" + (100).to_bytes(4, "big") + bytes(4000)

    assert b"II*\0" + bytes(4000) == with_dpx_times(b"II*\0" + bytes(4000), times, {})
    assert b"SDPX" == with_dpx_times(b"SDPX", times, {})
    assert early == with_dpx_times(early, times, {})
