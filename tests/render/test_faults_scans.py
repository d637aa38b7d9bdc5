"""A scan that is gone, or cut short, is told; once it is back, the same command goes on."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest
from numbered import write_scan
from piecemeal import INTRA, At, known, left_over
from rendering import retime, write_map

from retime.edition.join import join
from retime.errors import ScanError
from retime.render.job import render
from retime.render.means import Means
from retime.render.orders import orders_of

if TYPE_CHECKING:
    from pathlib import Path

MEANS = {"in one": Means(), "in pieces": Means(pieces=6, workers=1)}
SMALL = ("--pieces", "6", "--workers", "1")
GONE = {
    "1.mkv": "is not there",
    # The last is said of one file, where the folder goes between its being listed and read.
    "r1/%04d.dpx": "no file matches|cannot be listed|is not there|No such file",
}


@pytest.fixture(params=GONE)
def scan(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return a scan's path; above it is a map of it, and folders for what is made."""
    name = str(request.param)
    folder = tmp_path / "film"
    folder.mkdir()
    options, codec = (INTRA, "ffv1") if name.endswith("mkv") else ({}, "dpx")
    write_scan(folder / name, 30, codec, "gray" if codec == "ffv1" else "gbrp10be", options)
    write_map(
        folder,
        f"  - {{reel: 1, scan: {name}}}",
        "  x: {version: v, profile: prores-mezzanine, rate: 24}",
    )
    (tmp_path / "out").mkdir()
    return folder / name


def vanish(folder: Path) -> None:
    """Take the folder with the scan away, as a disk that is pulled out."""
    folder.rename(folder.with_name("away"))


@pytest.mark.parametrize("way", MEANS)
@pytest.mark.parametrize("after", [0, 15])
def test_a_scan_that_vanishes_is_told_and_once_it_is_back_the_render_goes_on(
    after: int, way: str, scan: Path, tmp_path: Path
) -> None:
    folder, out = tmp_path / "film", tmp_path / "out"
    edition = join(folder / "map.yaml", scans_needed=True)
    orders = orders_of(edition, out)
    if after == 0:
        vanish(folder)
    told = GONE[str(scan.relative_to(folder))]
    with pytest.raises(ScanError, match=told):
        render(edition, orders, At(after, lambda: vanish(folder)), force=False, means=MEANS[way])
    assert {} == known(out)
    assert bool(left_over(out)) is (way == "in pieces" and after > 0)

    folder.with_name("away").rename(folder)
    (tmp_path / "other").mkdir()
    again = retime("render", folder / "map.yaml", "-o", out, *SMALL)
    assert 0 == again.code, again.messages
    assert ("goes on: " in again.messages) is (way == "in pieces" and after > 0)
    assert 0 == retime("render", folder / "map.yaml", "-o", tmp_path / "other", *SMALL).code
    assert known(tmp_path / "other") == known(out)
    assert [] == left_over(out)


@pytest.mark.parametrize("way", MEANS)
def test_a_scan_that_is_cut_short_while_it_is_read_makes_no_film(
    way: str, scan: Path, tmp_path: Path
) -> None:
    """A file that is copied anew over itself is cut short for a moment."""
    folder, out = tmp_path / "film", tmp_path / "out"
    edition = join(folder / "map.yaml", scans_needed=True)
    cut = scan.with_name(scan.name % 29) if "%" in scan.name else scan

    with pytest.raises(ScanError, match=r"was changed since|ends after|is damaged|cannot be"):
        render(
            edition,
            orders_of(edition, out),
            At(12, lambda: os.truncate(cut, cut.stat().st_size // 3)),
            force=False,
            means=MEANS[way],
        )
    assert {} == known(out)


def test_one_numbered_file_that_is_taken_away_stops_the_render(tmp_path: Path) -> None:
    """Even one that was read already: what is made would not be what is there."""
    folder = tmp_path / "film"
    write_scan(folder / "r1/%04d.dpx", 30, "dpx", "gbrp10be")
    owed = "  x: {version: v, profile: prores-mezzanine, rate: 24}"
    write_map(folder, "  - {reel: 1, scan: r1/%04d.dpx}", owed)
    (tmp_path / "out").mkdir()
    edition = join(folder / "map.yaml", scans_needed=True)

    with pytest.raises(ScanError, match="was changed since it was looked at"):
        render(
            edition,
            orders_of(edition, tmp_path / "out"),
            At(15, (folder / "r1" / "0003.dpx").unlink),
            force=False,
        )
    assert [] == list((tmp_path / "out").iterdir())
