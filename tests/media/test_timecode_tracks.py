"""A chosen start label stands in a timecode track, or a tag, as others read it.

The figures of drop-frame are those of SMPTE ST 12-1 as told in the encyclopaedia article on SMPTE
timecode: frame 107,892 of 30000/1001 is 01:00:00;00, and 108,000 is 01:00:00:00 without dropping.
"""

from __future__ import annotations

import json
import re
import struct
from typing import TYPE_CHECKING

import av
import pytest
from fields import KINDS, encoded, program, raster
from numbered import draw, encode_files

from retime.errors import NotationError
from retime.film.notation import parse_rate
from retime.film.scanning import Scanning
from retime.media.sequence_writer import SequenceSettings, SequenceWriter

if TYPE_CHECKING:
    from pathlib import Path

# A rate, a label that exists at it, and how many frames after 00:00:00:00 that is.
STARTS = [
    ("24", "01:00:00:00", 86400),
    ("24000/1001", "01:00:00:00", 86400),
    ("25", "10:00:00:00", 900000),
    ("30000/1001", "01:00:00;00", 107892),
    ("30000/1001", "01:00:00:00", 108000),
    ("30000/1001", "00:01:00;02", 1800),
    ("30", "00:59:59:29", 107999),
    ("60000/1001", "01:00:00;00", 215784),
    ("18", "00:00:00:17", 17),
    ("16", "23:59:59:15", 1382399),
]


def made(path: Path, kind: str, rate: str, timecode: str | None) -> Path:
    frames = [draw(number, *raster(kind), KINDS[kind][2]) for number in range(3)]
    return encoded(
        path, kind, Scanning.PROGRESSIVE, frames, rate=parse_rate(rate), timecode=timecode
    )


def labels(path: Path) -> list[str]:
    """Return every start label that the ffmpeg program finds in a file."""
    told = program(path).split("Output #0")[0]
    return re.findall(r"timecode +: (\S+)", told, re.IGNORECASE)


@pytest.mark.parametrize(("rate", "timecode", "frames"), STARTS)
def test_a_mov_file_has_a_timecode_track(
    rate: str, timecode: str, frames: int, tmp_path: Path
) -> None:
    path = made(tmp_path / "made.mov", "prores", rate, timecode)

    assert {timecode} == set(labels(path))
    with av.open(str(path)) as container:
        (track,) = container.streams.data
        samples = [bytes(packet) for packet in container.demux(track) if packet.size]
        assert 3 == container.streams.video[0].frames
    assert [frames] == [int.from_bytes(sample, "big") for sample in samples]


@pytest.mark.parametrize("kind", ["dnxhd", "mpeg2"])
@pytest.mark.parametrize(("rate", "timecode", "frames"), STARTS)
def test_an_mxf_file_has_a_timecode_track(
    kind: str, rate: str, timecode: str, frames: int, tmp_path: Path
) -> None:
    """SMPTE ST 377-1, timecode component: start (1501), rounded base (1502), drop (1503)."""
    path = made(tmp_path / "made.mxf", kind, rate, timecode)

    assert {timecode} == set(labels(path))
    components = re.findall(
        rb"\x15\x01\0\x08(.{8})\x15\x02\0\x02(.{2})\x15\x03\0\x01(.)", path.read_bytes(), re.DOTALL
    )
    assert components
    base = int(parse_rate(rate).nominal.fps)
    for start, rounded, drop in components:
        assert (frames, base) == (int.from_bytes(start, "big"), int.from_bytes(rounded, "big"))
        assert (";" in timecode) == bool(drop[0])


@pytest.mark.parametrize(("kind", "container"), [("ffv1", "mkv"), ("h264", "mp4")])
@pytest.mark.parametrize("timecode", ["01:00:00;00", "01:00:00:00"])
def test_other_files_carry_the_label_too(
    kind: str, container: str, timecode: str, tmp_path: Path
) -> None:
    path = made(tmp_path / f"made.{container}", kind, "30000/1001", timecode)

    assert {timecode} == set(labels(path))


@pytest.mark.parametrize(("kind", "container"), [("prores", "mov"), ("ffv1", "mkv")])
def test_without_a_label_there_is_neither_track_nor_tag(
    kind: str, container: str, tmp_path: Path
) -> None:
    path = made(tmp_path / f"made.{container}", kind, "25", None)

    assert [] == labels(path)
    with av.open(str(path)) as opened:
        assert 1 == len(opened.streams)


def test_an_mxf_file_without_a_label_counts_from_nought(tmp_path: Path) -> None:
    assert {"00:00:00:00"} == set(labels(made(tmp_path / "made.mxf", "mpeg2", "25", None)))


def _sequence(folder: Path, rate: str, timecode: str | None, *, drop: bool) -> SequenceWriter:
    (picture,) = encode_files([draw(1, pixel_format="gbrp10be")], "dpx")
    writer = SequenceWriter(
        SequenceSettings(
            folder=folder,
            stem="made",
            ending="dpx",
            rate=parse_rate(rate),
            drop_frame=drop,
            links=False,
            timecode=timecode,
        )
    )
    writer.repeat_bytes(picture, 3)
    writer.finish()
    return writer


@pytest.mark.parametrize(
    ("rate", "timecode", "drop", "expected"),
    [
        ("24", "01:00:00:23", False, ["01:00:00:23", "01:00:01:00", "01:00:01:01"]),
        ("30000/1001", "00:00:59;28", True, ["00:00:59:28", "00:00:59:29", "00:01:00:02"]),
        ("24", None, False, ["00:00:00:00", "00:00:00:01", "00:00:00:02"]),
    ],
)
def test_the_labels_of_dpx_files_go_on_from_the_chosen_start(
    rate: str, timecode: str | None, expected: list[str], tmp_path: Path, *, drop: bool
) -> None:
    """SMPTE ST 268: the timecode is eight digits at byte 1920, one in every four bits."""
    _sequence(tmp_path / "out", rate, timecode, drop=drop)

    files = sorted((tmp_path / "out").glob("*.dpx"))
    digits = [struct.unpack_from(">I", path.read_bytes(), 1920)[0] for path in files]
    told = json.loads((tmp_path / "out" / "about.json").read_text())

    assert expected == [":".join(re.findall("..", f"{number:08x}")) for number in digits]
    assert timecode == told.get("timecode")


def test_a_label_that_drop_frame_skips_is_refused_before_a_file_is_made(tmp_path: Path) -> None:
    with pytest.raises(NotationError, match="00:01:00;00' does not exist: drop-frame skips it"):
        _sequence(tmp_path / "out", "30000/1001", "00:01:00;00", drop=True)

    assert not (tmp_path / "out").exists()
