"""Numbered files: positions, holes, and names that do not fit the pattern."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from retime.errors import ScanError
from retime.media.sequence import Hole, Sequence, is_pattern, list_sequence

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path


def _listed(folder: Path, pattern: str, names: Iterable[str]) -> Sequence:
    for name in names:
        (folder / name).write_bytes(b"xy")
    return list_sequence(folder / pattern)


def _refusal(folder: Path, pattern: str, names: Iterable[str]) -> str:
    with pytest.raises(ScanError) as caught:
        _listed(folder, pattern, names)
    return str(caught.value).removeprefix(f"{folder / pattern}: ")


def test_positions_count_from_the_lowest_number(tmp_path: Path) -> None:
    found = _listed(tmp_path, "%06d.dpx", ["086402.dpx", "086400.dpx", "086401.dpx"])

    assert found.numbers == (86400, 86401, 86402)
    assert (found.positions, found.holes, found.bytes) == (3, (), 6)
    assert found.path_at(0) == found.first_path == tmp_path / "086400.dpx"
    assert found.path_at(2) == tmp_path / "086402.dpx"


def test_a_hole_counts_as_positions(tmp_path: Path) -> None:
    found = _listed(tmp_path, "r%d.tif", ["r9.tif", "r10.tif", "r13.tif", "r15.tif"])

    assert found.positions == 7
    assert found.holes == (Hole(first=2, count=2), Hole(first=5, count=1))
    assert [found.path_at(place) is None for place in range(7)] == [
        *(False, False, True, True),
        *(False, True, False),
    ]
    assert found.number_at(2) == 11


def test_past_the_last_position_there_is_no_file(tmp_path: Path) -> None:
    assert _listed(tmp_path, "%d.tif", ["1.tif"]).path_at(1) is None


def test_numbers_may_outgrow_their_padding(tmp_path: Path) -> None:
    assert _listed(tmp_path, "%02d.tif", ["99.tif", "100.tif"]).numbers == (99, 100)


def test_files_that_do_not_match_are_left_alone(tmp_path: Path) -> None:
    others = ["notes.txt", "000001.tif.md5", "r000001.tif", "00000a.tif", "000001.TIF", ".tif"]
    (tmp_path / "000002.tif").mkdir()

    assert _listed(tmp_path, "%06d.tif", ["000001.tif", *others]).numbers == (1,)


@pytest.mark.parametrize(
    ("pattern", "odd", "right"),
    [("%06d.tif", "1.tif", "000001.tif"), ("%d.tif", "000002.tif", "2.tif")],
)
def test_a_number_with_other_padding_is_told(
    tmp_path: Path, pattern: str, odd: str, right: str
) -> None:
    told = _refusal(tmp_path, pattern, [odd, right])

    assert told == (
        f"the folder also holds {odd}, whose number is padded otherwise; "
        f"move it away or name it {right}"
    )


def test_no_match_is_told_with_the_nearest_names(tmp_path: Path) -> None:
    told = _refusal(tmp_path, "reel_%06d.dpx", ["reel-000001.dpx", "other.txt"])

    assert told == "no file matches; the nearest names there are reel-000001.dpx"
    assert list_sequence(tmp_path / "reel-%06d.dpx").numbers == (1,)


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    told = _refusal(tmp_path / "no", "%d.dpx", [])

    assert told == "its folder cannot be listed (No such file or directory)"


@pytest.mark.parametrize("pattern", ["%s.dpx", "%06d_%06d.dpx", "%6d.dpx", "100%.dpx", "%x.tif"])
def test_a_pattern_has_exactly_one_number(tmp_path: Path, pattern: str) -> None:
    assert _refusal(tmp_path, pattern, []).startswith("is no pattern for numbered files; write")


def test_a_percent_sign_in_the_name_makes_a_pattern_and_in_the_folder_not(tmp_path: Path) -> None:
    assert is_pattern(tmp_path / "%06d.dpx")
    assert not is_pattern(tmp_path / "100%" / "reel.mkv")
