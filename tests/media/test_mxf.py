"""MXF: any rate exactly, and coded pictures that come out as they went in."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

import av
import pytest
from fields import encoded, program
from numbered import draw, encode_files, read_movie, read_with_program, write_scan

from retime.film.notation import parse_rate
from retime.film.scanning import Scanning
from retime.media.movie_writer import MovieSettings, MovieWriter
from retime.media.probe import probe
from retime.profile.codecs import CODECS
from retime.profile.dnxhd import DNXHD
from retime.render.containers import INTO

if TYPE_CHECKING:
    from pathlib import Path

# SMPTE ST 428-21:2011, abstract: the archive rates; 24 and a rate of television beside them.
RATES = ("16", "200/11", "20", "240/11", "24", "18", "30000/1001")


def copied(scan: Path, rate: str) -> tuple[Path, list[bytes]]:
    """Copy a movie's coded pictures into MXF, and return them too."""
    path, coded = scan.with_name("copy.mxf"), []
    with av.open(str(scan)) as container:
        stream = container.streams.video[0]
        writer = MovieWriter(
            MovieSettings(
                path=path,
                container="mxf",
                rate=parse_rate(rate),
                sample_aspect=None,
                tag=None,
                raster=(stream.width, stream.height),
            ),
            stream,
        )
        for packet in container.demux(stream):
            if packet.size:
                coded.append(bytes(packet))
                writer.repeat(packet, 1)
    writer.finish()
    return path, coded


SCANS = {
    "jpeg2000": ("rgb48le", {"format": "j2k", "pred": "dwt53"}, (160, 96)),
    "dnxhd": ("yuv422p", {"profile": "dnxhr_hq"}, (320, 192)),
}


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("codec", SCANS)
def test_mxf_keeps_any_rate_exactly_and_every_picture(
    codec: str, rate: str, tmp_path: Path
) -> None:
    scan = write_scan(tmp_path / "scan.mov", 40, codec, *SCANS[codec])

    path, coded = copied(scan, rate)

    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        assert 1 / Fraction(rate) == stream.time_base
        assert 40 == stream.duration
        assert coded == [bytes(packet) for packet in container.demux(stream) if packet.size]
    edit_rate = Fraction(rate)
    told = edit_rate.numerator.to_bytes(4, "big") + edit_rate.denominator.to_bytes(4, "big")
    assert b"\x4b\x01\0\x08" + told in path.read_bytes()  # SMPTE ST 377-1, a track's edit rate
    assert list(range(40)) == read_with_program(path)


@pytest.mark.parametrize(
    ("codec", "pixel_format", "size", "ending"),
    [
        ("prores_ks", "yuv422p10le", (160, 96), "mov"),
        ("dnxhd", "yuv422p", (320, 192), "mov"),
        ("jpeg2000", "yuv422p10le", (160, 96), "mov"),
        ("dvvideo", "yuv420p", (720, 576), "mov"),
        ("ffv1", "gray16le", (160, 96), "mkv"),
    ],
)
def test_every_codec_of_the_table_survives_a_copy_into_mxf(
    codec: str, pixel_format: str, size: tuple[int, int], ending: str, tmp_path: Path
) -> None:
    options = {"dnxhd": {"profile": "dnxhr_sq"}, "ffv1": {"level": "3", "g": "1"}}.get(codec, {})
    scan = write_scan(
        tmp_path / f"scan.{ending}", 3, codec, pixel_format, options, size, rate=Fraction(25)
    )

    path, coded = copied(scan, "25")

    with av.open(str(path)) as container:
        again = [bytes(one) for one in container.demux(container.streams.video[0]) if one.size]
    assert coded == again
    assert [0, 1, 2] == read_movie(path) == read_with_program(path)
    assert probe(path).codec in INTO["mxf"]
    assert probe(scan).codec_profile == probe(path).codec_profile


@pytest.mark.parametrize("ending", ["mov", "mxf"])
@pytest.mark.parametrize("scanning", [Scanning.PROGRESSIVE, Scanning.TOP_FIRST])
def test_the_variant_of_dnxhd_is_told_by_its_compression_id(
    scanning: Scanning, ending: str, tmp_path: Path
) -> None:
    path = tmp_path / f"made.{ending}"
    encoded(path, "dnxhd-10", scanning, [draw(1, 1920, 1080, "yuv422p10le")])

    facts = probe(path)

    assert DNXHD["1080-185x"].reported == facts.codec_profile == "DNXHD 1080-185x"
    assert ("" if ending == "mxf" else "AVdn") == facts.codec_tag


def test_jpeg_2000_in_whole_and_reversible_loses_nothing(tmp_path: Path) -> None:
    """A codestream by our row's options, decoded by the ffmpeg program, against the picture."""
    frame = draw(77, 200, 120, "gbrp12le")
    (data,) = encode_files([frame], "jpeg2000", CODECS["jpeg2000"].options)
    assert b"\xff\x4f\xff\x51" == data[:4]  # ISO/IEC 15444-1: SOC and SIZ, a bare codestream
    path = tmp_path / "one.j2c"
    path.write_bytes(data)
    plain = write_scan(tmp_path / "plain.mkv", [77], "ffv1", "gbrp12le", size=(200, 120))

    sums = []
    for file in (path, plain):
        told = program(file, "-vf", "format=gbrp12le,showinfo")
        sums.append(re.findall(r"plane_checksum:\[([^\]]*)\]", told))

    assert 1 == len(sums[0])
    assert sums[0] == sums[1]
