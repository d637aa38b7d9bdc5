"""A profile states where the text of a reference copy stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from jsonschema import Draft202012Validator

from retime.errors import DocumentError
from retime.light.burn_place import BurnPlace
from retime.profile.schema import profile_schema
from retime.profile.shelf import load_profile, shelf

if TYPE_CHECKING:
    from pathlib import Path

OWN = """\
format: retime-profile/1
profile: own
promises: A copy for the composer, invented
codec: h264
container: mp4
rates: any
burn-in: top-left
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "own.yaml"
    path.write_text(text)
    return path


@pytest.mark.parametrize("place", BurnPlace)
def test_each_place_can_be_chosen(tmp_path: Path, place: BurnPlace) -> None:
    found = load_profile(written(tmp_path, OWN.replace("top-left", place)))

    assert place is found.burn_place


@pytest.mark.parametrize("name", list(shelf().files))
def test_it_is_the_bottom_in_profiles_that_say_nothing_else(name: str) -> None:
    assert BurnPlace.BOTTOM is shelf().load(name).burn_place


def test_the_viewing_copy_says_so_itself() -> None:
    assert "\nburn-in: bottom\n" in shelf().files["h264-viewing"].read_text()


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        (
            "burn-in: top-left",
            "burn-in: middle",
            "7:10: \"middle\" is not known here; write 'top-left', 'top', 'top-right', ",
        ),
        ("burn-in:", "burnin:", '7:1: unknown key "burnin"; did you mean "burn-in"?'),
        (
            "codec: h264\ncontainer: mp4",
            "codec: as scanned\ncontainer: as scanned",
            "7:10: a copied codec has no encoder to be told this; leave the key out",
        ),
    ],
)
def test_what_is_no_place_is_told(tmp_path: Path, old: str, new: str, expected: str) -> None:
    path = written(tmp_path, OWN.replace(old, new))

    with pytest.raises(DocumentError) as refused:
        load_profile(path)

    assert [expected] == [
        str(one).removeprefix(f"{path}:")[: len(expected)] for one in refused.value.findings
    ]


def test_the_schema_knows_the_places() -> None:
    validator = Draft202012Validator(profile_schema())
    profile = {
        "format": "retime-profile/1",
        "profile": "own",
        "promises": "A copy for the composer, invented",
        "codec": "h264",
        "container": "mp4",
        "rates": "any",
    }

    assert validator.is_valid(profile | {"burn-in": "bottom-right"})
    assert not validator.is_valid(profile | {"burn-in": "middle"})
