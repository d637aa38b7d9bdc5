"""FFV1's configuration record, read against files that FFmpeg's encoder wrote."""

from __future__ import annotations

from typing import TYPE_CHECKING

import av
import pytest
from damaging import program
from numbered import write_scan

from retime.media.ffv1 import Ffv1Config, crc_remainder, parse_config

if TYPE_CHECKING:
    from pathlib import Path


def _record(path: Path) -> bytes:
    with av.open(str(path)) as container:
        return container.streams.video[0].codec_context.extradata or b""


def _config(folder: Path, pix_fmt: str, **options: str) -> Ffv1Config:
    return parse_config(
        _record(write_scan(folder / "x.mkv", 2, "ffv1", pix_fmt, {"level": "3", **options}))
    )


@pytest.mark.parametrize(("slices", "across", "down"), [("4", 2, 2), ("6", 2, 3), ("16", 4, 4)])
def test_slices_are_counted_across_and_down(
    tmp_path: Path, slices: str, across: int, down: int
) -> None:
    config = _config(tmp_path, "yuv420p", slices=slices)

    assert (across * down) == int(slices)
    assert (across, down) in {
        (config.horizontal_slices, config.vertical_slices),
        (config.vertical_slices, config.horizontal_slices),
    }


@pytest.mark.parametrize(("interval", "intra"), [("1", True), ("2", False), ("250", False)])
def test_only_a_key_frame_interval_of_one_is_intra(
    tmp_path: Path, interval: str, *, intra: bool
) -> None:
    assert intra == _config(tmp_path, "yuv420p", g=interval).intra


@pytest.mark.parametrize("check", [0, 1])
def test_checksums_per_slice_are_told(tmp_path: Path, check: int) -> None:
    assert check == _config(tmp_path, "gray", slicecrc=str(check)).error_check


@pytest.mark.parametrize(
    ("pix_fmt", "bits", "colorspace"),
    [
        ("gray", 8, 0),
        ("yuv422p10le", 10, 0),
        ("gbrap12le", 12, 1),
        ("gbrp16le", 16, 1),
        ("yuva444p", 8, 0),
    ],
)
def test_depth_and_colour_space_are_told(
    tmp_path: Path, pix_fmt: str, bits: int, colorspace: int
) -> None:
    config = _config(tmp_path, pix_fmt)

    assert (bits, colorspace) == (config.bits_per_raw_sample, config.colorspace_type)


@pytest.mark.parametrize(("coder", "kind"), [("rice", 0), ("range_def", 1), ("range_tab", 2)])
@pytest.mark.parametrize("context", ["0", "1"])
def test_every_coder_and_context_model_is_read_through(
    tmp_path: Path, coder: str, kind: int, context: str
) -> None:
    """The fields after the tables are right only if the tables were read to their last bit."""
    config = _config(tmp_path, "yuv420p", coder=coder, context=context, g="1", slicecrc="1")

    assert (3, kind, 1, True) == (
        config.version,
        config.coder_type,
        config.error_check,
        config.intra,
    )


def test_states_trained_in_a_first_pass_are_read_through(tmp_path: Path) -> None:
    source = write_scan(tmp_path / "source.mkv", 3, "ffv1", "yuv420p")
    for number in (1, 2):
        trained = ["-level", 3, "-g", 1, "-coder", "range_tab", "-context", 1, "-slices", 4]
        passes = ["-pass", number, "-passlogfile", tmp_path / "log"]
        program("-i", source, "-c:v", "ffv1", *trained, *passes, tmp_path / "two.mkv")
    record = _record(tmp_path / "two.mkv")

    assert len(record) > 1000  # the trained states are in it
    assert parse_config(record).intra


def test_versions_without_a_record_say_so(tmp_path: Path) -> None:
    old = write_scan(tmp_path / "x.mkv", 2, "ffv1", "gray", {"level": "1", "slicecrc": "0"})

    with pytest.raises(ValueError, match="there is no FFV1 configuration record"):
        parse_config(_record(old))


def test_a_record_with_a_wrong_checksum_is_not_believed(tmp_path: Path) -> None:
    record = bytearray(_record(write_scan(tmp_path / "x.mkv", 2, "ffv1", "gray", {"level": "3"})))
    record[10] ^= 1

    with pytest.raises(ValueError, match="damaged"):
        parse_config(bytes(record))


def _with_checksum(data: bytes) -> bytes:
    """Append the four bytes that make the remainder zero, found by the definition, bit by bit."""
    remainder = 0
    for byte in data + bytes(4):
        for bit in range(7, -1, -1):
            remainder = remainder << 1 | (byte >> bit & 1)
            if remainder >> 32:
                remainder ^= 0x104C11DB7
    return data + remainder.to_bytes(4, "big")


def test_the_remainder_is_that_of_the_polynomial_division_in_rfc_9043() -> None:
    assert crc_remainder(_with_checksum(b"an invented record")) == 0
    assert crc_remainder(_with_checksum(b"an invented record") + b"x") != 0


@pytest.mark.parametrize("body", [b"\0" * 12, b"\xff" * 12, b"\x55\xaa" * 20, b"V\x06\x1e"])
def test_nonsense_with_a_right_checksum_is_refused_in_words(body: bytes) -> None:
    with pytest.raises(ValueError, match=r"FFV1|too long"):
        parse_config(_with_checksum(body))


def test_a_record_that_is_cut_short_is_refused(tmp_path: Path) -> None:
    record = _record(write_scan(tmp_path / "x.mkv", 2, "ffv1", "yuv420p", {"level": "3"}))

    with pytest.raises(ValueError, match=r"ends early|makes no sense|too long"):
        parse_config(_with_checksum(record[: len(record) // 2]))
