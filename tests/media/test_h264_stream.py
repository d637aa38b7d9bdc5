"""H.264 headers held against what the encoder was told and the program's trace filter reads."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from discs import AVC_OPTIONS, RATE_525, RATE_625, avc, headers

from retime.film.scanning import Scanning
from retime.film.speed import Rate
from retime.media.h264 import h264_pictures
from retime.media.h264_sequence import h264_sequence, unescaped

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

STRUCTURES = {Scanning.PROGRESSIVE: 0, Scanning.TOP_FIRST: 3, Scanning.BOTTOM_FIRST: 4}
"""pic_struct: ITU-T H.264, table D-1, by FFmpeg's h264_sei.h."""


def pieces(data: bytes, size: int) -> Iterator[bytes]:
    return (data[at : at + size] for at in range(0, len(data), size))


@pytest.mark.parametrize(
    ("scanning", "rate"),
    [
        (Scanning.PROGRESSIVE, Rate(Fraction(24000, 1001))),
        (Scanning.TOP_FIRST, RATE_625),
        (Scanning.BOTTOM_FIRST, RATE_525),
    ],
)
def test_every_picture_reads_as_the_program_reads_it(
    scanning: Scanning, rate: Rate, tmp_path: Path
) -> None:
    path = avc(tmp_path / "a.264", 50, rate, scanning, starts={0, 10, 11})

    pictures = list(h264_pictures([path.read_bytes()]))

    told = headers(path)
    assert 50 == len(pictures) == len(told)
    for picture, (size, head) in zip(pictures, told, strict=True):
        # The program counts the zero before a start code to what follows it, we to what precedes.
        assert abs(size - picture.bits // 8) <= 1
        assert head["slice_type"] % 5 == "PBI".index(picture.kind)
        assert ("idr_pic_id" in head) is picture.idr
        assert STRUCTURES[scanning] == head["pic_struct"] == picture.structure
        assert head.get("field_pic_flag", 0) == (not picture.frame)
        assert 2 == picture.fields
        assert picture.delimited
        assert ("profile_idc" in head) is (picture.sequence is not None)
        delay = picture.delay and int(picture.delay * 90_000)
        assert head.get("initial_cpb_removal_delay") == delay
    assert [0, 10, 11, 35] == [at for at, one in enumerate(pictures) if one.idr]


@pytest.mark.parametrize("scanning", list(Scanning))
def test_the_sequence_says_what_the_encoder_was_told(scanning: Scanning, tmp_path: Path) -> None:
    """The raster is no multiple of 16 either way, so that its rest is cropped."""
    path = avc(tmp_path / "a.264", 2, RATE_525, scanning, size=(178, 100))

    head = next(h264_pictures([path.read_bytes()])).sequence

    assert head is not None
    assert (178, 100) == head.raster
    assert (100, 41) == (head.profile, head.level)
    assert (scanning is Scanning.PROGRESSIVE) is head.frames_only
    assert Fraction(40, 33) == head.sample_aspect
    assert Fraction(30000, 1001) == head.rate
    assert head.buffer is not None
    assert (3_000_000, 2_000_000) == (head.buffer.bit_rate, head.buffer.buffer_bits)
    assert head.buffer.network
    assert not head.buffer.constant


def test_what_a_stream_does_not_say_is_none(tmp_path: Path) -> None:
    plain = {"qp": "20", "x264-params": "log=0"}
    path = avc(tmp_path / "a.264", 2, RATE_625, Scanning.PROGRESSIVE, options=plain)

    first, _ = h264_pictures([path.read_bytes()])

    assert first.sequence is not None
    assert first.sequence.buffer is None
    assert first.structure is None
    assert first.delay is None
    assert not first.delimited
    assert 2 == first.fields


def test_an_i_picture_that_later_ones_refer_beyond_begins_no_group(tmp_path: Path) -> None:
    options = {**AVC_OPTIONS, "forced-idr": "0", "x264-params": "log=0:open-gop=1"}
    path = avc(tmp_path / "a.264", 12, starts={7}, options=options)

    kinds = [one.kind for one in h264_pictures([path.read_bytes()])]
    begins = [one.idr for one in h264_pictures([path.read_bytes()])]

    assert 2 == kinds.count("I")
    assert [True, *[False] * 11] == begins


def test_an_odd_aspect_and_signals_are_read(tmp_path: Path) -> None:
    options = {**AVC_OPTIONS, "x264-params": "log=0:videoformat=pal:chromaloc=1"}
    path = avc(
        *(tmp_path / "a.264", 1, RATE_625, Scanning.PROGRESSIVE),
        options=options,
        sample_aspect=Fraction(123, 77),
    )

    head = next(h264_pictures([path.read_bytes()])).sequence

    assert head is not None
    assert Fraction(123, 77) == head.sample_aspect
    assert Fraction(25) == head.rate


def unsigned(value: int) -> str:
    """Return ue(v): ITU-T H.264, section 9.1."""
    code = f"{value + 1:b}"
    return "0" * (len(code) - 1) + code


def signed(value: int) -> str:
    """Return se(v): ITU-T H.264, section 9.1.1."""
    return unsigned(2 * value - 1 if value > 0 else -2 * value)


def test_scaling_lists_are_read_past() -> None:
    """Written by hand, as no encoder here writes any: sections 7.3.2.1.1 and 7.3.2.1.1.1.

    The first list of 16 and the first of 64 are there; a second of 64 ends at once.
    """
    lists = "1" + signed(1) * 16 + "0" * 5 + "1" + signed(2) * 64 + "1" + signed(-8)
    bits = "".join(
        (
            f"{0x67:08b}{100:08b}{0:08b}{41:08b}",
            unsigned(0) + unsigned(1) + unsigned(0) * 2 + "0",  # set, chroma, depths, bypass
            "1" + lists,
            unsigned(3) + unsigned(2) + unsigned(4) + "0",  # frame number, order, references
            unsigned(9) + unsigned(5) + "1" + "1" + "0" + "0" + "1",  # raster, no crop, no VUI
        )
    )
    data = int(bits.ljust(-(-len(bits) // 8) * 8, "0"), 2).to_bytes(-(-len(bits) // 8), "big")

    head = h264_sequence(data)

    assert (160, 96) == head.raster
    assert 7 == head.frame_number_bits
    assert head.frames_only


@pytest.mark.parametrize("size", [1, 5, 97, 4096])
def test_a_stream_may_be_cut_anywhere_while_it_is_read(size: int, tmp_path: Path) -> None:
    data = avc(tmp_path / "a.264", 12).read_bytes()

    assert list(h264_pictures([data])) == list(h264_pictures(pieces(data, size)))


def test_bytes_that_keep_start_codes_out_are_taken_away() -> None:
    """ITU-T H.264, section 7.3.1: 03 after two zeros."""
    assert b"\0\0\0\0\1\0\0\2" == unescaped(b"\0\0\3\0\0\3\1\0\0\3\2")


def test_what_is_no_h264_is_refused(tmp_path: Path) -> None:
    data = avc(tmp_path / "a.264", 2).read_bytes()
    parameters = data.index(b"\0\0\1\x67")
    after = data.index(b"\0\0\1", parameters + 3)

    with pytest.raises(ValueError, match="does not begin with sequence parameters"):
        list(h264_pictures([data[:parameters] + data[after:]]))
    with pytest.raises(ValueError, match="a header"):
        list(h264_pictures([data[: parameters + 9] + data[after:]]))
    assert [] == list(h264_pictures([b"no stream at all"]))
