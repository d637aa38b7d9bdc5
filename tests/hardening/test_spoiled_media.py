"""Whatever a media file has become, every command ends: with 0, 1 or 2, in time, saying why.

``RETIME_FUZZ_FILES`` is how many are spoiled, ``RETIME_FUZZ_SEED`` which ones.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

import pytest
from spoiled_media import KINDS, map_of, spoil, write_kind, write_sound

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    Ask = Callable[..., int]

FILES = int(os.environ.get("RETIME_FUZZ_FILES", "24"))
SEED = int(os.environ.get("RETIME_FUZZ_SEED", "1"))
BATCHES = 10
SOUNDS = {"wav": "pcm_s16le", "flac": "flac"}


@pytest.fixture(scope="module")
def originals(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Return folders with a scan each, what was made of it, and a map; and sound."""
    folders: dict[str, Path] = {}
    for name in KINDS:
        folders[name] = tmp_path_factory.mktemp(name)
        write_kind(folders[name], name)
        (folders[name] / "map.yaml").write_text(map_of(name))
    for ending, codec in SOUNDS.items():
        folders[ending] = tmp_path_factory.mktemp(ending)
        write_kind(folders[ending], "ffv1")
        write_sound(folders[ending] / f"sound.{ending}", codec)
        (folders[ending] / "map.yaml").write_text(map_of(ending))
    return folders


@pytest.fixture(scope="module")
def ask(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ask]:
    """Return a function that runs a command in a limited process and returns how it ended."""
    home = tmp_path_factory.mktemp("home")
    program = subprocess.Popen(
        [sys.executable, Path(__file__).with_name("limited_child.py")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "XDG_CACHE_HOME": str(home), "XDG_CONFIG_HOME": str(home)},
    )
    assert program.stdin
    assert program.stdout
    into, out = program.stdin, program.stdout

    def asked(folder: Path, *arguments: object) -> int:
        print(json.dumps([str(folder), [*map(str, arguments)]]), file=into, flush=True)
        return int(json.loads(out.readline()))

    with program:
        yield asked
        into.close()


def commands(folder: Path) -> dict[str, tuple[object, ...]]:
    """Return what can be asked of a scan: probe and count, detect, render; and check."""
    scan = next(one for one in (*folder.glob("scan.*"), folder / "scan") if one.exists())
    if scan.is_dir():
        scan /= f"%06d{next(scan.iterdir()).suffix}"
    return {
        "lint": ("lint", "map.yaml"),
        "detect": ("detect", scan),
        "render": ("render", "map.yaml", "-o", "out", "--workers", "1"),
        "check": ("check", "map.yaml", "-o", "out"),
    }


def hold(folder: Path, asked: Ask, *arguments: object) -> int:
    """Hold how a command ends against the law; return its exit code."""
    (folder / "said").unlink(missing_ok=True)
    code = asked(folder, *arguments)
    said = said_in(folder)
    assert code in {0, 1, 2}, f"{arguments[0]} of {folder} ended with {code}:\n{said}"
    assert "Traceback" not in said, said
    assert code != 2 or said.strip(), "why it was refused is not said"
    return code


@pytest.mark.parametrize("name", [*KINDS, *SOUNDS])
def test_what_is_sound_goes_through(name: str, originals: dict[str, Path], ask: Ask) -> None:
    folder = originals[name]
    (folder / "out").mkdir()
    for command in ("render", "check"):
        assert 0 == hold(folder, ask, *commands(folder)[command]), said_in(folder)


@pytest.mark.parametrize("batch", range(BATCHES))
def test_whatever_a_media_file_has_become_every_command_ends(
    batch: int, originals: dict[str, Path], ask: Ask, tmp_path: Path
) -> None:
    names = [*originals]
    for number in range(batch, FILES, BATCHES):
        dice = Random(f"{SEED} {number}")  # noqa: S311 - the same every time
        name = names[number % len(names)]
        folder = Path(shutil.copytree(originals[name], tmp_path / f"{number}-{name}"))
        spoiled = spoil_one(folder, originals[dice.choice(names)], dice)
        asked = commands(folder)
        if "out" in spoiled.relative_to(folder).parts:
            hold(folder, ask, *asked["check"])
            continue
        shutil.rmtree(folder / "out", ignore_errors=True)
        (folder / "out").mkdir()
        codes = [hold(folder, ask, *asked[one]) for one in ("lint", "detect", "render")]
        if codes[-1] == 0:
            hold(folder, ask, *asked["check"])
        shutil.rmtree(folder)


def said_in(folder: Path) -> str:
    """Return what the last command said."""
    return (folder / "said").read_text(errors="replace")


def spoil_one(folder: Path, other: Path, dice: Random) -> Path:
    """Spoil one media file of a folder, with parts of one of another's; return which it was."""
    found = [
        sorted(
            path
            for path in one.rglob("*")
            if path.is_file() and path.suffix not in {".yaml", ".json", ""}
        )
        for one in (folder, other)
    ]
    path = dice.choice(found[0])
    path.write_bytes(spoil(path.read_bytes(), dice.choice(found[1]).read_bytes(), dice))
    return path
