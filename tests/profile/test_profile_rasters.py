"""A profile states the raster of its pictures, and how a scan's come into it."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from retime.errors import DocumentError
from retime.light.raster import Fit
from retime.profile.schema import profile_schema
from retime.profile.shelf import load_profile, shelf

if TYPE_CHECKING:
    from pathlib import Path

    from retime.profile.model import Profile

DISC = """\
format: retime-profile/1
profile: disc
promises: Pictures for a disc of the harbour museum, invented
codec: ffv1
container: mkv
rates: [25]
raster: pad
size: 720x576
display-aspect: 4:3
active-width: 704
"""


def loaded(folder: Path, text: str = DISC) -> Profile:
    path = folder / "disc.yaml"
    path.write_text(text)
    return load_profile(path)


def test_a_profile_states_raster_shape_and_active_width(tmp_path: Path) -> None:
    found = loaded(tmp_path)

    assert (Fit.PAD, (720, 576)) == (found.fit, found.size)
    assert (Fraction(4, 3), 704) == (found.display_aspect, found.active_width)


@pytest.mark.parametrize("name", ["as-scanned", "ffv1-master", "h264-viewing", "tiff-sequence"])
def test_a_profile_that_states_none_keeps_the_scans(name: str) -> None:
    found = shelf().load(name)

    assert (Fit.KEEP, None, None, None) == (
        found.fit,
        found.size,
        found.display_aspect,
        found.active_width,
    )


def test_a_display_aspect_may_stand_alone_for_maps_that_name_a_size(tmp_path: Path) -> None:
    text = DISC.replace("raster: pad\nsize: 720x576\n", "").replace("active-width: 704\n", "")

    assert Fraction(4, 3) == loaded(tmp_path, text).display_aspect


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        (
            "raster: pad",
            "raster: stretch",
            "7:9: \"stretch\" is not known here; write 'keep', 'pad",
        ),
        ("size: 720x576\n", "", "7:9: to pad needs a raster; add size: 1920x1080 or another"),
        ("display-aspect: 4:3\n", "", "8:7: a raster has a display aspect; add display-aspect"),
        ("size: 720x576", "size: 0x576", "8:7: '0x576' is no raster; write width x height"),
        ("size: 720x576", "size: 720", "8:7: '720' is no raster; write width x height"),
        ("size: 720x576", "size: [720, 576]", "8:7: one text belongs here"),
        ("size: 720x576", "size: 99999x576", "8:7: the raster 99999x576 is too large"),
        ("4:3", "4/3", "9:17: '4/3' is no display aspect; write width : height: 16:9 or 4:3"),
        ("4:3", "4:0", "9:17: '4:0' is no display aspect"),
        ("active-width: 704", "active-width: 721", "10:15: 721 samples are more than the raster"),
        ("active-width: 704", "active-width: 0", "10:15: '0' is no number of samples"),
        ("active-width: 704", "active-width: all", "10:15: 'all' is no number of samples"),
        ("raster: pad\nsize: 720x576\n", "", "8:15: an active width is part of a raster's"),
        (
            "codec: ffv1\ncontainer: mkv",
            "codec: as scanned\ncontainer: as scanned",
            "8:7: a copied codec has no encoder to be told this; leave the key out",
        ),
    ],
)
def test_a_mistake_about_the_raster_is_told_at_its_place(
    old: str, new: str, expected: str, tmp_path: Path
) -> None:
    assert old in DISC
    with pytest.raises(DocumentError) as refused:
        loaded(tmp_path, DISC.replace(old, new, 1))
    told = [str(one).removeprefix(f"{tmp_path}/disc.yaml:") for one in refused.value.findings]

    assert any(line.startswith(expected) for line in told), told


def test_editors_are_told_the_keys_of_a_raster() -> None:
    keys = profile_schema()["properties"]

    assert {"raster", "size", "display-aspect", "active-width"} <= keys.keys()
