"""Profiles are found wherever retime runs from, a user's own before those that ship with it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from retime.errors import CommandError, DocumentError
from retime.profile.shelf import load_profile, own_folder, shelf, shipped_folder

if TYPE_CHECKING:
    from retime.profile.model import Profile

ROOT = Path(__file__).parents[2]
SHIPPED = tuple(sorted(path.stem for path in (ROOT / "profiles").glob("*.yaml")))
AT_ANY_RATE = (
    "as-scanned",
    "dnxhd-mezzanine",
    "dnxhr-mezzanine",
    "dpx-sequence",
    "ffv1-master",
    "h264-viewing",
    "prores-mezzanine",
    "tiff-sequence",
)
OWN = """\
format: retime-profile/1
profile: own
promises: A copy for our reading room
codec: prores
variant: lt
container: mov
pixel-formats: [yuv422p10le]
rates: [24, 23.976, 25]
"""


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a user's own folder of profiles, empty."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    folder = tmp_path / "config" / "retime" / "profiles"
    folder.mkdir(parents=True)
    return folder


def complaints(text: str, folder: Path, name: str = "own") -> list[str]:
    """Return what is wrong with a profile, each without the path before the line."""
    path = folder / f"{name}.yaml"
    path.write_text(text)
    with pytest.raises(DocumentError) as refused:
        load_profile(path)
    return [str(one).removeprefix(f"{path}:") for one in refused.value.findings]


@pytest.mark.usefixtures("own")
def test_a_checkout_finds_what_ships() -> None:
    assert ROOT / "profiles" == shipped_folder()
    assert SHIPPED == tuple(shelf().files)


def test_an_installed_retime_finds_what_ships(tmp_path: Path) -> None:
    """The wheel holds ``profiles`` as ``retime/_profiles``: laid out here as it installs."""
    built = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["hatch"]["build"]
    forced = built["targets"]["wheel"]["force-include"]
    site = tmp_path / "site"
    shutil.copytree(ROOT / "retime", site / "retime")
    for source, target in forced.items():
        shutil.copytree(ROOT / source, site / target)
    code = "import retime.profile.shelf as s; print(s.shipped_folder(), *s.shelf().files)"
    env = {**os.environ, "PYTHONPATH": str(site), "XDG_CONFIG_HOME": str(tmp_path)}
    command = [sys.executable, "-P", "-c", code]
    told = subprocess.run(
        command, env=env, cwd=tmp_path, capture_output=True, check=True, text=True
    )

    assert [str(site / "retime" / "_profiles"), *SHIPPED] == told.stdout.split()


def test_a_users_own_profile_stands_beside_the_shipped_ones(own: Path) -> None:
    (own / "own.yaml").write_text(OWN)
    found = shelf().load("own")

    assert sorted([*SHIPPED, "own"]) == list(shelf().files)
    assert ("own", "lt", own / "own.yaml") == (found.name, found.variant_name, found.path)
    assert ["24", "24000/1001", "25"] == [str(rate) for rate in found.rates]


def test_a_users_own_profile_stands_before_a_shipped_one_of_its_name(own: Path) -> None:
    (own / "ffv1-master.yaml").write_text(OWN.replace("own", "ffv1-master"))

    assert own / "ffv1-master.yaml" == shelf().load("ffv1-master").path


def test_the_own_folder_is_where_the_xdg_specification_puts_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """XDG Base Directory Specification: ~/.config by default, and a relative path is ignored."""
    monkeypatch.setenv("HOME", str(tmp_path))
    for stated in ("", "relative/path"):
        monkeypatch.setenv("XDG_CONFIG_HOME", stated)

        assert tmp_path / ".config" / "retime" / "profiles" == own_folder()
    monkeypatch.delenv("XDG_CONFIG_HOME")

    assert tmp_path / ".config" / "retime" / "profiles" == own_folder()


def test_a_user_without_a_home_has_no_own_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    def homeless() -> Path:
        raise RuntimeError

    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    monkeypatch.setattr(Path, "home", homeless)

    assert own_folder() is None
    assert SHIPPED == tuple(shelf().files)


@pytest.mark.usefixtures("own")
def test_a_name_that_no_profile_has_is_told_with_the_nearest() -> None:
    with pytest.raises(CommandError, match=r"^no profile is named 'ffv1-mastr'; did you mean 'f"):
        shelf().load("ffv1-mastr")
    with pytest.raises(CommandError, match=r"^no profile is named 'x'; there are as-scanned, d"):
        shelf().load("x")


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("retime-profile/1", "retime-profile/2", '1:9: "retime-profile/2" is not known'),
        (
            "profile: own",
            "profile: Own",
            "2:10: 'Own' is no name for a profile; write",
        ),
        ("profile: own", "profile: mine", "2:10: the file is named 'own'; give both the same"),
        ("codec: prores", "codec: cinepak", "4:8: the codec 'cinepak' is not known; write"),
        ("variant: lt", "variant: lite", "5:10: prores needs a variant; write one of proxy, lt"),
        ("variant: lt\n", "", "4:8: prores needs a variant"),
        ("container: mov", "container: mkv", "6:12: prores is not put into mkv; write mov"),
        ("container: mov", "container: avi", '6:12: "avi" is not known'),
        ("container: mov", "container: mxf", "6:12: prores is not put into mxf; write mov"),
        ("container: mov", "container: as scanned", "6:12: prores is not put into as scanned"),
        ("rates: [", "rates: [PAL, ", "8:8: 'PAL' is no rate"),
        ("rates: [24, 23.976, 25]", "rates: 24", "8:8: rates are a list of some, or the word any"),
        ("rates: [24, 23.976, 25]", "rates: []", "8:8: rates are a list of some, or the word any"),
        ("rates: [24, 23.976, 25]", "rates: any\nthreads: 0", "9:10: '0' is no count"),
        ("rates: [24, 23.976, 25]", "rates: any\nlinks: maybe", "9:8: 'maybe' is neither yes nor"),
        ("rates: [24, 23.976, 25]", "rates: any\nlinks: yes", "9:8: only a sequence of files can"),
        ("rates: [24, 23.976, 25]", "rates: any\nquality: 9", '9:1: unknown key "quality"'),
        ("promises: A copy for our reading room", 'promises: ""', "3:11: the text is empty"),
        ("codec: prores", "codec: as scanned", "6:12: a copied codec keeps the scan's container"),
        (
            "codec: prores\nvariant: lt\ncontainer: mov",
            "codec: as scanned\ncontainer: as scanned",
            "6:16: a copied codec has no encoder to be told this; leave the key out",
        ),
        (
            "codec: prores\nvariant: lt\ncontainer: mov",
            "sound: {codec: pcm, rate: 48000, bits: 32}\ncodec: mpeg2\ncontainer: mxf",
            "4:40: pcm has 16 or 24 bits of a sample in mxf; say bits: 16",
        ),
    ],
)
def test_a_mistake_in_a_profile_is_told_at_its_place(
    old: str, new: str, expected: str, tmp_path: Path
) -> None:
    assert old in OWN
    told = complaints(OWN.replace(old, new, 1), tmp_path)

    assert any(line.startswith(expected) for line in told), told


def test_all_mistakes_between_the_keys_of_a_profile_are_told(tmp_path: Path) -> None:
    text = OWN.replace("lt", "lite").replace("mov", "mkv").replace("profile: own", "profile: mine")

    assert ["2:10", "5:10", "6:12"] == [one.split(": ")[0] for one in complaints(text, tmp_path)]


def test_options_of_a_profile_come_after_the_codecs_and_lists_are_joined(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(
        OWN.replace("prores\nvariant: lt", "h264").replace("mov", "mp4")
        + 'options: {preset: slow, x264-params: "keyint=12:open-gop=0"}\n'
    )
    told = load_profile(path).encoder_options()

    joined = "log=0:keyint=12:open-gop=0"
    assert {"x264-params": joined, "preset": "slow", "flags": "+global_header"} == told


@pytest.mark.usefixtures("own")
@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_profile_says_what_it_promises(name: str) -> None:
    profile: Profile = shelf().load(name)

    assert name == profile.name
    assert len(profile.promises) > 40


@pytest.mark.usefixtures("own")
@pytest.mark.parametrize("name", AT_ANY_RATE)
def test_the_file_profiles_take_any_positive_rate(name: str) -> None:
    assert () == shelf().load(name).rates


@pytest.mark.usefixtures("own")
@pytest.mark.parametrize("name", ["jpeg2000-sequence", "jpeg2000-mov"])
def test_pictures_for_d_cinema_run_at_24_and_at_the_archive_rates(name: str) -> None:
    """SMPTE ST 428-21:2011, abstract: 16/1, 200/11, 20/1 and 240/11; 24 is a primary rate."""
    profile = shelf().load(name)

    assert ["24", "16", "200/11", "20", "240/11"] == [str(rate) for rate in profile.rates]
    assert "not a package" in profile.caution
