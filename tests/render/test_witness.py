"""A scan that is written to while it is looked at and rendered is noticed, and no film is made."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest
from numbered import write_scan
from piecemeal import INTRA, At
from rendering import write_map

from retime.edition.join import join
from retime.errors import ScanError
from retime.render.job import render
from retime.render.means import Means
from retime.render.orders import orders_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

CHANGED = "was changed since it was looked at; let whatever writes it come to its end"


def grow(path: Path) -> None:
    with path.open("ab") as file:
        file.write(bytes(100))


def touch(path: Path) -> None:
    os.utime(path, ns=(5, 5))


@pytest.fixture(params=["1.mkv", "r1/%04d.dpx"])
def scan(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return a scan's path, and beside it a map of it."""
    name = str(request.param)
    options, codec = (INTRA, "ffv1") if name.endswith("mkv") else ({}, "dpx")
    write_scan(tmp_path / name, 30, codec, "gray" if codec == "ffv1" else "gbrp10be", options)
    profile = "ffv1-master" if codec == "ffv1" else "dpx-sequence"
    owed = f"  x: {{version: v, profile: {profile}, rate: 24}}"
    write_map(tmp_path, f"  - {{reel: 1, scan: {name}}}", owed)
    (tmp_path / "out").mkdir()
    return tmp_path / name


def file_of(scan: Path) -> Path:
    return scan.with_name(scan.name % 20) if "%" in scan.name else scan


@pytest.mark.parametrize("change", [grow, touch])
def test_a_scan_that_was_written_to_since_it_was_probed_is_not_rendered(
    change: Callable[[Path], None], scan: Path
) -> None:
    folder = scan.parent if "%" not in scan.name else scan.parent.parent
    edition = join(folder / "map.yaml", scans_needed=True)
    orders = orders_of(edition, folder / "out")
    change(file_of(scan))

    with pytest.raises(ScanError, match=CHANGED):
        render(edition, orders, At(999, lambda: None), force=False)
    assert [] == list((folder / "out").iterdir())


@pytest.mark.parametrize("means", [Means(), Means(pieces=6, workers=1)], ids=["one", "pieces"])
@pytest.mark.parametrize("change", [grow, touch])
def test_a_scan_that_is_written_to_while_it_is_rendered_stops_the_render(
    change: Callable[[Path], None], means: Means, scan: Path
) -> None:
    folder = scan.parent if "%" not in scan.name else scan.parent.parent
    edition = join(folder / "map.yaml", scans_needed=True)
    orders = orders_of(edition, folder / "out")

    with pytest.raises(ScanError, match=CHANGED):
        render(edition, orders, At(15, lambda: change(file_of(scan))), force=False, means=means)
    assert [] == [one for one in (folder / "out").iterdir() if not one.name.startswith(".")]
