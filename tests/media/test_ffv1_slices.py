"""FFV1's slice checksums, held against files that FFmpeg's encoder wrote."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from damaging import packets_of
from numbered import write_scan

from retime.media.ffv1 import parse_config
from retime.media.ffv1slices import has_slice_checksums, sound_slices
from retime.media.probe import probe

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def coded(tmp_path: Path) -> bytes:
    options = {"level": "3", "slices": "4", "slicecrc": "1"}
    path = write_scan(tmp_path / "x.mkv", [77], "ffv1", "yuv422p10le", options)
    assert has_slice_checksums(parse_config(probe(path).extradata))
    return packets_of(path)[0]


def test_a_picture_as_written_is_sound(coded: bytes) -> None:
    assert sound_slices(coded)


def test_one_bit_anywhere_makes_it_unsound(coded: bytes) -> None:
    for place in range(len(coded)):
        changed = bytearray(coded)
        changed[place] ^= 0x10
        assert not sound_slices(bytes(changed)), place


@pytest.mark.parametrize("kept", [1, 7, 8, 50])
def test_a_picture_that_is_cut_short_is_unsound(coded: bytes, kept: int) -> None:
    assert not sound_slices(coded[:kept])
    assert not sound_slices(coded[:-kept])


def test_streams_without_slice_checksums_are_told(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "x.mkv", 1, "ffv1", "gray", {"level": "3", "slicecrc": "0"})

    assert not has_slice_checksums(parse_config(probe(path).extradata))
