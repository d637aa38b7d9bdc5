"""README, DEVELOPERS, CHANGELOG and pyproject say what is so."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

import retime
from retime.cli.main import app
from retime.profile.shelf import shipped_folder

HOUSE = Path(__file__).parents[2]
README = (HOUSE / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (HOUSE / "DEVELOPERS.md").read_text(encoding="utf-8")
CHANGELOG = (HOUSE / "CHANGELOG.md").read_text(encoding="utf-8")
COMMANDS = sorted(
    info.name or info.callback.__name__.replace("_", "-")
    for info in app.registered_commands
    if info.callback
)


def test_package_pyproject_and_changelog_have_one_version() -> None:
    project = tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    newest = re.search(r"^## (\S+)", CHANGELOG, re.MULTILINE)

    assert retime.__version__ == project["version"]
    assert newest is not None
    assert retime.__version__ == newest[1]


@pytest.mark.parametrize("command", COMMANDS)
def test_readme_and_changelog_name_every_command(command: str) -> None:
    assert f"retime {command}" in README
    assert f"retime {command}" in CHANGELOG


@pytest.mark.parametrize("profile", sorted(path.stem for path in shipped_folder().glob("*.yaml")))
def test_the_readme_names_every_shipped_profile(profile: str) -> None:
    assert f"`{profile}`" in README


def test_the_readme_states_the_whole_job_in_its_first_paragraph() -> None:
    first = README.split("\n\n")[1]

    for part in ("silent", "speed map", "24, 25 or 30", "runtime", "cadence", "drift", "frame"):
        assert part in first


def test_the_developers_guide_lists_every_room() -> None:
    rooms = {path.parent.name for path in (HOUSE / "retime").glob("*/__init__.py")}

    assert rooms == {room for room in rooms if f"`{room}/`" in DEVELOPERS}


def test_the_top_level_is_the_agreed_one() -> None:
    agreed = {
        ".ci", ".gitignore", "CHANGELOG.md", "DEVELOPERS.md", "LICENSE", "README.md",
        "demo_media", "profiles", "pyproject.toml", "retime", "scripts", "tests",
    }  # fmt: skip
    made = {".git", ".venv", ".mypy_cache", ".ruff_cache", ".pytest_cache", ".hypothesis"}
    made |= {"build", "dist", "out", "retime.egg-info"}

    assert agreed == {path.name for path in HOUSE.iterdir()} - made
