"""MPEG-2 headers read and changed, held against what the ffmpeg program's trace filter reads.

The layout is that of ISO/IEC 13818-2, section 6.2; its figures here are from memory unless the
program tells them.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from discs import RATE_525, RATE_625, flagged, headers, mpeg2

from retime.film.scanning import Scanning
from retime.media.mpeg2 import RATE_CODES, mpeg2_pictures
from retime.media.mpeg2_patch import set_repeat_flags, set_sequence, set_time_code

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from retime.film.speed import Rate


def pieces(data: bytes, size: int) -> Iterator[bytes]:
    return (data[at : at + size] for at in range(0, len(data), size))


@pytest.mark.parametrize(
    ("rate", "scanning", "code"),
    [(RATE_525, Scanning.BOTTOM_FIRST, 4), (RATE_625, Scanning.TOP_FIRST, 3)],
)
def test_every_header_reads_as_the_program_reads_it(
    rate: Rate, scanning: Scanning, code: int, tmp_path: Path
) -> None:
    path = mpeg2(tmp_path / "a.m2v", 40, rate, scanning)

    pictures = list(mpeg2_pictures([path.read_bytes()]))

    told = headers(path)
    assert 40 == len(pictures) == len(told)
    for picture, (size, head) in zip(pictures, told, strict=True):
        assert 8 * size == picture.bits
        assert head["picture_coding_type"] == " IPB".index(picture.kind)
        assert head["temporal_reference"] == picture.temporal_reference
        assert head["vbv_delay"] == picture.vbv_delay
        assert head["top_field_first"] == picture.top_first
        assert head["repeat_first_field"] == picture.repeat_first
        assert head["progressive_frame"] == picture.progressive
        assert (head["picture_structure"] == 3) is picture.frame
        assert ("group_start_code" in head) is (picture.group is not None)
        assert ("sequence_header_code" in head) is (picture.sequence is not None)
        if picture.group is not None:
            assert head["closed_gop"] == picture.group.closed
            assert head["broken_link"] == picture.group.broken
        if picture.sequence is not None:
            assert (160, 96) == picture.sequence.raster
            assert head["aspect_ratio_information"] == picture.sequence.aspect
            assert code == head["frame_rate_code"] == picture.sequence.rate_code
            assert 400 * head["bit_rate_value"] == picture.sequence.bit_rate
            assert 16_384 * head["vbv_buffer_size_value"] == picture.sequence.buffer_bits
            assert head["progressive_sequence"] == picture.sequence.progressive
            assert head["low_delay"] == picture.sequence.low_delay
            assert head["profile_and_level_indication"] == picture.sequence.profile_and_level


def test_what_the_encoder_was_told_is_what_is_read(tmp_path: Path) -> None:
    path = mpeg2(tmp_path / "a.m2v", 20)

    first, *others = mpeg2_pictures([path.read_bytes()])

    assert first.sequence is not None
    assert 5_000_000 == first.sequence.bit_rate
    assert 1_835_008 == first.sequence.buffer_bits
    assert first.group is not None
    assert "00:00:00:00" == first.group.time_code
    # A group of 18 ends with its last whole B B P.
    assert [16] == [at for at, one in enumerate(others, 1) if one.group is not None]
    assert not first.progressive
    assert first.top_first
    assert 8 * path.stat().st_size == first.bits + sum(one.bits for one in others)


@pytest.mark.parametrize("size", [1, 5, 97, 4096])
def test_a_stream_may_be_cut_anywhere_while_it_is_read(size: int, tmp_path: Path) -> None:
    data = mpeg2(tmp_path / "a.m2v", 12).read_bytes()

    assert list(mpeg2_pictures([data])) == list(mpeg2_pictures(pieces(data, size)))


def test_what_is_no_mpeg_2_is_refused(tmp_path: Path) -> None:
    data = mpeg2(tmp_path / "a.m2v", 2).read_bytes()
    extension = data.index(b"\0\0\1\xb5")
    mpeg1 = data[:extension] + data[data.index(b"\0\0\1\xb8") :]
    bare = data[data.index(b"\0\0\1\0") :]

    with pytest.raises(ValueError, match="is not MPEG-2"):
        list(mpeg2_pictures([mpeg1]))
    with pytest.raises(ValueError, match="does not begin with a sequence header"):
        list(mpeg2_pictures([bare]))
    with pytest.raises(ValueError, match="ends early"):
        list(mpeg2_pictures([data[: extension + 6] + data[data.index(b"\0\0\1\xb8") :]]))
    assert [] == list(mpeg2_pictures([b"no stream at all"]))


def test_rates_have_the_codes_that_the_program_writes() -> None:
    """ISO/IEC 13818-2, table 6-4 (from memory); 4 and 3 are read above."""
    assert [1, 2, 3, 4, 5, 6, 7, 8] == list(RATE_CODES.values())
    assert Fraction(30000, 1001) == list(RATE_CODES)[3]
    assert Fraction(25) == list(RATE_CODES)[2]


def test_changed_headers_read_as_they_were_set_and_nothing_else_has_changed(
    tmp_path: Path,
) -> None:
    path = mpeg2(tmp_path / "a.m2v", 1)
    before = headers(path)[0][1]
    packet = bytearray(path.read_bytes())

    set_repeat_flags(packet, top_first=False, repeat_first=True)
    set_sequence(
        packet, bit_rate=150_000_001, buffer_bits=16_800_000, progressive=True, rate_code=3
    )
    set_time_code(packet, "11:22:33;14")

    (tmp_path / "b.m2v").write_bytes(packet)
    after = headers(tmp_path / "b.m2v")[0][1]
    changed = {name: value for name, value in after.items() if before[name] != value}
    units, buffers = 375_001, 1026  # of 400 bits a second and of 16384 bits, rounded up
    assert {
        "top_field_first": 0,
        "repeat_first_field": 1,
        "frame_rate_code": 3,
        "bit_rate_value": units % (1 << 18),
        "bit_rate_extension": units >> 18,
        "vbv_buffer_size_value": buffers % (1 << 10),
        "vbv_buffer_size_extension": buffers >> 10,
        "progressive_sequence": 1,
        # drop_frame_flag, hours 5, minutes 6, marker, seconds 6, pictures 6
        "time_code": 1 << 24 | 11 << 19 | 22 << 13 | 1 << 12 | 33 << 6 | 14,
    } == changed
    (read,) = mpeg2_pictures([bytes(packet)])
    assert read.sequence is not None
    assert read.group is not None
    assert 4 == read.fields
    assert (150_000_400, 16_809_984) == (read.sequence.bit_rate, read.sequence.buffer_bits)
    assert "11:22:33;14" == read.group.time_code


def test_a_packet_without_a_picture_cannot_be_flagged() -> None:
    with pytest.raises(ValueError, match="lacks an extension"):
        set_repeat_flags(bytearray(b"\0\0\1\xb7"), top_first=True, repeat_first=True)


def test_pictures_without_groups_are_left_as_they_are(tmp_path: Path) -> None:
    flagged(tmp_path / "a.m2v", bytes([3, 3]))
    data = (tmp_path / "a.m2v").read_bytes()
    second = bytearray(data[data.rindex(b"\0\0\1\0") :])
    untouched = bytes(second)

    set_sequence(second, bit_rate=400, buffer_bits=16_384, progressive=True, rate_code=1)
    set_time_code(second, "10:00:00:00")

    assert untouched == bytes(second)


@pytest.mark.parametrize(
    ("progressive", "top_first", "repeat_first", "fields"),
    [
        (False, True, False, 2),
        (False, True, True, 3),
        (False, False, True, 3),
        (True, False, False, 2),  # once
        (True, False, True, 4),  # twice
        (True, True, True, 6),  # three times
    ],
)
def test_fields_follow_from_the_flags(
    progressive: bool,  # noqa: FBT001
    top_first: bool,  # noqa: FBT001
    repeat_first: bool,  # noqa: FBT001
    fields: int,
    tmp_path: Path,
) -> None:
    """FFmpeg's MPEG-2 decoder (repeat_pict 0, 1, 2 and 4 half-frames); ISO/IEC 13818-2, 6.3.10."""
    packet = bytearray(mpeg2(tmp_path / "a.m2v", 1).read_bytes())
    set_repeat_flags(packet, top_first=top_first, repeat_first=repeat_first)
    set_sequence(packet, bit_rate=400, buffer_bits=16_384, progressive=progressive, rate_code=4)

    (picture,) = mpeg2_pictures([bytes(packet)])

    assert fields == picture.fields
