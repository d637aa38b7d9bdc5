"""What probing tells of scans, from their headers alone."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from damaging import program
from numbered import SIZE, write_scan

from retime.errors import ScanError
from retime.light.format import PictureFormat
from retime.media.facts import Form
from retime.media.intra import ALWAYS_INTRA, intra_promise
from retime.media.probe import probe

if TYPE_CHECKING:
    from pathlib import Path

TAGGED = {
    "sample_aspect_ratio": Fraction(16, 15),
    "color_primaries": 1,
    "color_trc": 1,
    "colorspace": 1,
    "color_range": 1,
}


def test_a_prores_movie_is_told_in_full(tmp_path: Path) -> None:
    path = write_scan(
        tmp_path / "reel.mov", 5, "prores_ks", "yuv422p10le", {"profile": "3"}, attributes=TAGGED
    )
    facts = probe(path)
    picture = PictureFormat(
        width=SIZE[0],
        height=SIZE[1],
        pixel_format="yuv422p10le",
        sample_aspect=Fraction(16, 15),
        field_order="progressive",
        primaries=1,
        transfer=1,
        matrix=1,
        range=1,
    )

    assert picture == facts.picture
    assert (facts.form, facts.container) == (Form.MOVIE, "mov,mp4,m4a,3gp,3g2,mj2")
    assert (facts.codec, facts.codec_profile, facts.codec_tag) == ("prores", "HQ", "apch")
    assert (facts.header_frames, facts.intra, facts.extradata) == (5, True, b"")
    assert path.stat().st_size == facts.bytes


def test_ffv1_is_intra_by_its_header_and_not_by_name(tmp_path: Path) -> None:
    intra = probe(write_scan(tmp_path / "i.mkv", 3, "ffv1", "gray", {"level": "3", "g": "1"}))
    leaning = probe(write_scan(tmp_path / "l.mkv", 3, "ffv1", "gray", {"level": "3", "g": "9"}))
    old = probe(write_scan(tmp_path / "o.mkv", 3, "ffv1", "gray", {"level": "1", "g": "1"}))

    assert (intra.intra, intra.intra_reason) == (True, "the FFV1 header says intra-only")
    assert not leaning.intra
    assert "does not say intra-only" in leaning.intra_reason
    assert not old.intra
    assert "there is no FFV1 configuration record" in old.intra_reason


def test_matroska_has_no_count_in_its_header_and_no_tag(tmp_path: Path) -> None:
    facts = probe(write_scan(tmp_path / "reel.mkv", 3))

    assert facts.header_frames is None
    assert (facts.codec, facts.codec_tag, facts.codec_profile) == ("ffv1", "", None)
    assert facts.picture.sample_aspect is None
    assert (2, 2, 2) == (facts.picture.primaries, facts.picture.transfer, facts.picture.matrix)


@pytest.mark.parametrize(
    ("options", "order"),
    [
        ({}, "progressive"),
        ({"field_order": "tt"}, "top-first"),
        ({"field_order": "bb"}, "bottom-first"),
    ],
)
def test_field_order_is_told(tmp_path: Path, options: dict[str, str], order: str) -> None:
    values = {"tt": 2, "bb": 3}
    attributes = {"field_order": values[options["field_order"]]} if options else {}
    path = write_scan(tmp_path / "reel.mov", 2, "prores_ks", "yuv422p10le", attributes=attributes)

    assert order == probe(path).picture.field_order


@pytest.mark.parametrize(("code", "order"), [(9, "top-first"), (14, "bottom-first")])
def test_matroska_s_interleaved_orders_are_those_of_display(
    tmp_path: Path, code: int, order: str
) -> None:
    """RFC 9559, FieldOrder: 9, top field displayed first, and 14, bottom field, interleaved."""
    path = write_scan(
        tmp_path / "reel.mkv",
        3,
        "ffv1",
        "gray",
        {"level": "3", "g": "1"},
        attributes={"field_order": {9: 4, 14: 5}[code]},  # what FFmpeg's muxer turns into these
    )
    element = bytes([0x9D, 0x81, code])

    assert element in path.read_bytes()
    assert order == probe(path).picture.field_order


def test_long_gop_codecs_promise_nothing_even_if_all_frames_are_key_frames(tmp_path: Path) -> None:
    facts = probe(write_scan(tmp_path / "x.mp4", 3, "libx264", "yuv420p", {"g": "1"}))

    assert not facts.intra
    assert "h264" in facts.intra_reason


@pytest.mark.parametrize("codec", sorted(ALWAYS_INTRA))
def test_each_codec_in_the_table_is_intra_and_names_where_that_stands(codec: str) -> None:
    assert intra_promise(codec, b"") == (
        True,
        f"{codec} codes every picture by itself ({ALWAYS_INTRA[codec]})",
    )


def test_an_index_counts_what_the_edit_list_presents(tmp_path: Path) -> None:
    """A cut without recoding keeps frames that are only decoded, and hides them by an edit list."""
    whole = write_scan(tmp_path / "whole.mp4", 50, "libx264", "yuv420p", {"g": "10"})
    program("-ss", "0.8", "-t", "1", "-i", whole, "-c", "copy", tmp_path / "cut.mp4")

    assert probe(whole).header_frames == 50
    assert probe(tmp_path / "cut.mp4").header_frames == 20


def test_a_movie_in_fragments_has_no_count_in_its_header(tmp_path: Path) -> None:
    whole = write_scan(tmp_path / "whole.mp4", 20, "libx264", "yuv420p", {"g": "5"})
    program("-i", whole, "-c", "copy", "-movflags", "frag_keyframe+empty_moov", tmp_path / "f.mp4")

    assert probe(tmp_path / "f.mp4").header_frames is None


@pytest.mark.parametrize(
    ("ending", "codec", "pix_fmt", "read_as"),
    [
        ("dpx", "dpx", "gbrp10be", "gbrp10le"),
        ("tif", "tiff", "rgb48le", "rgb48le"),
        ("png", "png", "rgb48be", "rgb48be"),
        ("jpg", "mjpeg", "yuvj420p", "yuvj420p"),
        ("jp2", "jpeg2000", "rgb24", "rgb24"),
        ("exr", "exr", "gbrpf32le", "gbrpf32le"),
    ],
)
def test_numbered_files_are_told_by_their_first_picture(
    tmp_path: Path, ending: str, codec: str, pix_fmt: str, read_as: str
) -> None:
    pattern = write_scan(
        tmp_path / "reel" / f"%05d.{ending}", 3, codec, pix_fmt, start_number=86400
    )
    facts = probe(pattern)

    assert (facts.form, facts.container, facts.codec) == (Form.SEQUENCE, "sequence", codec)
    assert (facts.picture.width, facts.picture.height) == SIZE
    assert read_as == facts.picture.pixel_format
    assert (facts.header_frames, facts.intra) == (3, True)
    assert sum(one.stat().st_size for one in pattern.parent.iterdir()) == facts.bytes


def test_one_picture_is_no_scan_and_the_pattern_is_offered(tmp_path: Path) -> None:
    write_scan(tmp_path / "%06d.dpx", 1, "dpx", "gbrp10be")

    with pytest.raises(ScanError, match=r"is a single picture; write numbered files as %06d\.dpx"):
        probe(tmp_path / "000000.dpx")


def test_a_first_file_that_is_no_picture_is_named(tmp_path: Path) -> None:
    (tmp_path / "000007.dpx").write_bytes(b"no picture")

    with pytest.raises(ScanError, match=r"000007\.dpx: holds no picture that can be decoded"):
        probe(tmp_path / "%06d.dpx")


def test_a_pattern_with_an_ending_that_is_no_pictures_is_refused(tmp_path: Path) -> None:
    (tmp_path / "1.txt").write_text("x", encoding="ascii")

    with pytest.raises(ScanError, match="endings can be dpx, tif"):
        probe(tmp_path / "%d.txt")
