"""Stream, container and frames say the same order of fields, by the word of the ffmpeg program.

Its stream line tells what the headers say, ``showinfo`` what every decoded frame says, and
``idet`` what the pictures themselves look like.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import pytest
from fields import KINDS, encoded, moving_frames, program, raster, settings
from msgspec.structs import replace
from numbered import draw

from retime.errors import OutputError
from retime.film.scanning import Scanning
from retime.light.format import PictureFormat
from retime.media.encoder import PictureEncoder
from retime.media.field_marks import FieldMarker, scanning_options
from retime.media.probe import probe
from retime.picture.weave import weave
from retime.profile.codecs import CODECS
from retime.profile.scannings import possible_scannings

if TYPE_CHECKING:
    from pathlib import Path

    import av

CASES = [
    (kind, container, scanning)
    for kind, (codec, variant, _, _, containers) in KINDS.items()
    for container in containers
    for scanning in possible_scannings(
        CODECS[codec], CODECS[codec].variants.get(variant or ""), container
    )
]
WORDS = {
    Scanning.PROGRESSIVE: ("progressive", "P"),
    Scanning.TOP_FIRST: ("top first", "T"),
    Scanning.BOTTOM_FIRST: ("bottom first", "B"),
}


def numbers(kind: str, count: int) -> list[av.VideoFrame]:
    return [draw(number, *raster(kind), KINDS[kind][2]) for number in range(count)]


@pytest.mark.parametrize(("kind", "container", "scanning"), CASES)
def test_headers_and_frames_say_how_they_are_scanned(
    kind: str, container: str, scanning: Scanning, tmp_path: Path
) -> None:
    path = encoded(tmp_path / f"made.{container}", kind, scanning, numbers(kind, 5))

    told = program(path, "-vf", "showinfo")

    word, letter = WORDS[scanning]
    (line,) = re.findall(r"Stream #0:\d.*: Video: .*", told.split("Output #0")[0])
    assert [word] == re.findall("progressive|top first|bottom first|swapped", line), line
    assert [letter] * 5 == re.findall(r" i:(\w) ", told)
    assert str(scanning) == probe(path).picture.field_order


def test_every_codec_that_can_be_interlaced_is_tried_here_in_every_container() -> None:
    interlaced = {
        (row.name, container)
        for row in CODECS.values()
        for container in {"mkv", "mov", "mp4", "mxf"}.intersection(row.containers)
        if Scanning.TOP_FIRST in row.scannings
    }

    assert interlaced == {(KINDS[kind][0], container) for kind, container, _ in CASES}


@pytest.mark.parametrize("kind", ["dnxhd", "h264", "mpeg2", "prores"])
@pytest.mark.parametrize(
    ("scanning", "detail"),
    [
        (Scanning.PROGRESSIVE, b"\1\0"),
        (Scanning.TOP_FIRST, b"\2\1"),
        (Scanning.BOTTOM_FIRST, b"\2\6"),
    ],
)
def test_a_mov_file_says_the_order_in_its_header_once(
    kind: str, scanning: Scanning, detail: bytes, tmp_path: Path
) -> None:
    """QuickTime File Format Specification, ``fiel``: 1 field, or 2 and which line is earliest."""
    path = tmp_path / "made.mov"
    encoded(path, kind, scanning, numbers(kind, 2), timecode="01:00:00:00")

    header = path.read_bytes().rpartition(b"moov")[2]

    assert [detail] == re.findall(rb"\0\0\0\x0afiel(..)", header, re.DOTALL)


@pytest.mark.parametrize(
    ("kind", "container", "scanning"), [one for one in CASES if one[2].interlaced]
)
def test_moving_pictures_look_scanned_as_they_are_said_to_be(
    kind: str, container: str, scanning: Scanning, tmp_path: Path
) -> None:
    """``idet`` compares each line with its neighbours in time: it takes no flag for an answer."""
    frames = moving_frames(kind, scanning, 8)
    path = encoded(tmp_path / f"made.{container}", kind, scanning, frames)

    told = program(path, "-vf", "setfield=prog,idet")

    word = "TFF" if scanning is Scanning.TOP_FIRST else "BFF"
    assert {"TFF": 0, "BFF": 0, "Progressive": 0, "Undetermined": 0, word: 8} == _look(told)


def test_moving_pictures_in_whole_frames_look_progressive(tmp_path: Path) -> None:
    scanning = Scanning.PROGRESSIVE
    path = encoded(tmp_path / "made.mkv", "ffv1", scanning, moving_frames("ffv1", scanning, 8))

    told = program(path, "-vf", "idet")

    assert {"TFF": 0, "BFF": 0, "Progressive": 8, "Undetermined": 0} == _look(told)


def _look(told: str) -> dict[str, int]:
    """Return how many frames look how to ``idet``, by its last word."""
    found = re.findall(r"Multi frame detection: (.*)", told)[-1]
    return {word: int(count) for word, count in re.findall(r"(\w+): *(\d+)", found)}


@pytest.mark.parametrize("scanning", [Scanning.TOP_FIRST, Scanning.BOTTOM_FIRST])
@pytest.mark.parametrize("kind", ["ffv1", "ffv1-420"])
def test_a_frame_of_two_fields_of_one_film_frame_is_that_frame_bit_for_bit(
    kind: str, scanning: Scanning, tmp_path: Path
) -> None:
    """Decoded by the program from FFV1, woven and marked, and from the film frames themselves."""
    film, again = numbers(kind, 4), numbers(kind, 4)
    top_first = scanning is Scanning.TOP_FIRST
    woven = [weave(one, two, top_first=top_first) for one, two in zip(film, again, strict=True)]
    carried = encoded(tmp_path / "carried.mkv", kind, scanning, woven)
    whole = encoded(tmp_path / "whole.mkv", kind, Scanning.PROGRESSIVE, film)

    assert _checksums(whole) == _checksums(carried)


def _checksums(path: Path) -> list[str]:
    told = program(path, "-vf", "showinfo")
    return re.findall(r"plane_checksum:\[([^\]]*)\]", told)


def _said_interlaced(kind: str) -> list[av.VideoFrame]:
    """Return pictures that say of themselves that they are interlaced, as a scan's may."""
    width, height = raster(kind)
    picture = PictureFormat(width=width, height=height, pixel_format=KINDS[kind][2])
    marker = FieldMarker(picture, Scanning.BOTTOM_FIRST)
    frames = [marker.mark(frame) for frame in numbers(kind, 3)]
    assert all(frame.interlaced_frame for frame in frames)
    return frames


@pytest.mark.parametrize("kind", ["ffv1", "prores", "mpeg2", "h264"])
def test_a_scan_that_says_it_is_interlaced_does_not_make_a_progressive_file_say_so(
    kind: str, tmp_path: Path
) -> None:
    frames = _said_interlaced(kind)
    path = tmp_path / f"made.{KINDS[kind][4][0]}"

    told = program(encoded(path, kind, Scanning.PROGRESSIVE, frames), "-vf", "showinfo")

    assert ["P"] * 3 == re.findall(r" i:(\w) ", told)
    assert "top first" not in told
    assert "bottom first" not in told


def test_marking_changes_no_sample_and_copies_none() -> None:
    frame = draw(7, 64, 48, "yuv420p")
    marker = FieldMarker(
        PictureFormat(width=64, height=48, pixel_format="yuv420p"), Scanning.TOP_FIRST
    )

    marked = marker.mark(frame)

    assert marked.interlaced_frame
    assert not frame.interlaced_frame
    np.frombuffer(memoryview(frame.planes[0]), np.uint8)[:] = 99
    assert {99} == set(bytes(marked.planes[0]))


def test_a_progressive_frame_passes_as_it_is() -> None:
    frame = draw(7, 64, 48, "yuv420p")
    marker = FieldMarker(
        PictureFormat(width=64, height=48, pixel_format="yuv420p"), Scanning.PROGRESSIVE
    )

    assert frame is marker.mark(frame)


def test_what_a_profile_tells_the_encoder_stays_beside_what_its_scanning_asks() -> None:
    told = {"x264-params": "log=0:keyint=12", "flags": "+cgop", "crf": "18"}

    assert {
        "x264-params": "log=0:keyint=12:bff=1",
        "flags": "+cgop+ildct+ilme",
        "crf": "18",
    } == scanning_options("libx264", told, Scanning.BOTTOM_FIRST)
    assert told == scanning_options("libx264", told, Scanning.PROGRESSIVE)
    assert {"flags": "+cgop+ildct"} == scanning_options(
        "dnxhd", {"flags": "cgop"}, Scanning.TOP_FIRST
    )


@pytest.mark.parametrize("name", ["dpx", "tiff", "jpeg2000"])
def test_an_encoder_that_cannot_say_it_is_not_made_to_encode_interlaced(
    name: str, tmp_path: Path
) -> None:
    encoder = CODECS[name].encoder
    told = settings("ffv1", "mkv", Scanning.TOP_FIRST)

    with pytest.raises(OutputError, match=f"the encoder {encoder} makes no interlaced pictures"):
        PictureEncoder(replace(told, encoder=encoder), tmp_path / "made")
