"""``retime detect`` as a user runs it: its formats, its files, bad input without a traceback."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from transfers import CODERS, clip, ffmpeg, make

from retime.report.detected_values import detection_schema
from retime.signal.cadence_file import cadence_schema, read_cadence
from retime.signal.shown import Kind
from retime.yamldoc.reading import load

if TYPE_CHECKING:
    from pathlib import Path

pytest_plugins = ["made_once"]

FRAMES = 60


@dataclass(frozen=True, slots=True)
class Ran:
    """How a run ended, and what it said."""

    code: int
    out: str
    err: str


def detect(*arguments: object) -> Ran:
    command = [sys.executable, "-m", "retime", "detect", *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, check=False, text=True)
    assert "Traceback" not in done.stderr
    return Ran(done.returncode, done.stdout, done.stderr)


@pytest.fixture(scope="module")
def transfer(folder: Path) -> Path:
    """Give 18 film frames in 24."""
    return make(clip(folder, FRAMES), "18", "fps=24", folder / "command.mkv")


def test_a_table_says_what_it_is_in_the_words_of_the_trade(transfer: Path) -> None:
    ran = detect(transfer)

    assert 0 == ran.code
    assert "18 in 24, whole pictures repeat, throughout" in ran.out
    assert "1:2:1" in ran.out


def test_what_is_told_to_programs_keeps_to_its_schema(transfer: Path) -> None:
    ran = detect(transfer, "--format", "json")

    told: dict[str, Any] = json.loads(ran.out)
    jsonschema.validate(told, detection_schema())
    (one,) = told["stretches"]
    assert ("18 in 24", [1, 2, 1], 0) == (one["name"], one["runs"], one["phase"])
    assert ("18", 3, 4) == (one["speed"], one["film_frames_per_cycle"], one["output_per_cycle"])
    assert (FRAMES, 0, FRAMES - 1) == (told["film_frames"], one["film_first"], one["film_last"])


def test_pictures_keep_their_numbers_where_only_some_are_looked_at(transfer: Path) -> None:
    told = json.loads(detect(transfer, "--format", "json", "--from", 21, "--to", 70).out)

    assert (21, 50) == (told["first"], told["frames"])
    (one,) = told["stretches"]
    assert (21, 70) == (one["first"], one["last"])
    # 18 in 24 shows 0 1 1 2: picture 21 is the first of a frame that is shown twice.
    assert ([2, 1, 1], 0) == (one["runs"], one["phase"])


def test_the_cadence_goes_into_a_file_that_is_read_again(transfer: Path, tmp_path: Path) -> None:
    path = tmp_path / "cadence.yaml"

    assert 0 == detect(transfer, "-o", path).code
    told = read_cadence(path)

    assert (transfer.name, 0, 80) == (told.scan, told.first, told.frames)
    (one,) = told.stretches
    assert (Kind.REPEATS, (1, 2, 1), 0) == (one.kind, one.runs, one.phase)
    plain = load(path).plain()
    assert isinstance(plain, dict)
    jsonschema.Draft202012Validator.check_schema(cadence_schema())
    assert "retime-cadence/1" == plain["format"]
    again = detect(transfer, "-o", path)
    assert 2 == again.code
    assert "exists already" in again.err
    assert 0 == detect(transfer, "-o", path, "--force").code


@pytest.mark.parametrize(("ending", "begins"), [(".svg", b"<?xml"), (".png", b"\x89PNG")])
def test_it_is_drawn_the_same_every_time(
    ending: str, begins: bytes, transfer: Path, tmp_path: Path
) -> None:
    paths = [tmp_path / f"{number}{ending}" for number in range(2)]
    for path in paths:
        assert 0 == detect(transfer, "--picture", path).code

    one, other = (path.read_bytes() for path in paths)
    assert one.startswith(begins)
    assert one == other


def cut(transfer: Path, path: Path) -> None:
    data = transfer.read_bytes()
    path.write_bytes(data[: len(data) // 2])


def sound(_: Path, path: Path) -> None:
    ffmpeg("-f", "lavfi", "-i", "sine=d=1", "-c:a", "flac", path)


def still(transfer: Path, path: Path) -> None:
    ffmpeg("-i", transfer, "-frames:v", 1, *CODERS["ffv1"], path)


BAD = {
    "empty": (lambda _, path: path.write_bytes(b""), "is empty"),
    "cut": (cut, "damaged or truncated"),
    "text": (lambda _, path: path.write_text("ffconcat version 1.0\nfile x\n"), "bad.mkv"),
    "sound": (sound, "holds no moving picture"),
    "single": (still, "single picture"),
    "missing": (lambda _, path: path.unlink(missing_ok=True), "is not there"),
    "folder": (lambda _, path: path.mkdir(), "folder"),
}


@pytest.mark.parametrize("kind", BAD)
def test_what_is_no_whole_film_is_refused(kind: str, transfer: Path, tmp_path: Path) -> None:
    path = tmp_path / "bad.mkv"
    spoil, words = BAD[kind]
    spoil(transfer, path)  # type: ignore[no-untyped-call]

    ran = detect(path)

    assert 2 == ran.code
    assert words in ran.err
    assert "" == ran.out


def test_numbered_files_are_looked_at_too(transfer: Path, tmp_path: Path) -> None:
    ffmpeg("-i", transfer, "-start_number", 86_400, tmp_path / "%06d.png")

    told = json.loads(detect(tmp_path / "%06d.png", "--format", "json").out)

    (one,) = told["stretches"]
    assert ([1, 2, 1], 80) == (one["runs"], told["frames"])
    assert told["rate_said"] is None
    assert "3 in 4" == one["name"]
    (tmp_path / "086420.png").unlink()
    assert 2 == detect(tmp_path / "%06d.png").code


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--from", 70, "--to", 20), "has no pictures 70 to 20"),
        (("--to", 80), "has no pictures 0 to 80"),
        (("--from", 7, "--to", 7), "a cadence needs several"),
        (("--picture", "drawing.gif"), "end its name with .svg or .png"),
        (("-o", "same.svg", "--picture", "same.svg"), "name two files"),
    ],
)
def test_what_cannot_be_asked_for_is_told(
    arguments: tuple[object, ...], words: str, transfer: Path
) -> None:
    ran = detect(transfer, *arguments)

    assert 2 == ran.code
    assert words in ran.err
