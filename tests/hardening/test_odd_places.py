"""Links, pipes and devices where files are expected; names that would lead elsewhere."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from commands_here import LAMP, retime
from numbered import write_scan
from spoiled_media import write_sound

if TYPE_CHECKING:
    from collections.abc import Callable

MASTER = "Lamp-master.mkv"
TIFF = ("ffv1-master", "tiff-sequence")


@pytest.fixture(scope="module")
def scan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a scan of 24 frames."""
    path = tmp_path_factory.mktemp("scan") / "lamp.mkv"
    return write_scan(path, 24, options={"level": "3", "g": "1", "slicecrc": "1"})


@pytest.fixture
def work(tmp_path: Path, scan: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder with the scan, a map, an empty folder ``out`` and somebody's file."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home"))
    work = tmp_path / "work"
    (work / "out").mkdir(parents=True)
    (work / "lamp.mkv").write_bytes(scan.read_bytes())
    (work / "lamp.yaml").write_text(LAMP)
    (work / "theirs").mkdir()
    (work / "theirs" / "letter.txt").write_text("not to be touched")
    return work


def rendered(work: Path, *more: object) -> tuple[int, str]:
    """Render the map into ``out``; whatever happens, somebody's file is as it was."""
    ended = retime("render", work / "lamp.yaml", "-o", work / "out", "--workers", "1", *more)
    assert "Traceback" not in ended[1]
    assert ["letter.txt"] == [path.name for path in (work / "theirs").iterdir()], ended[1]
    assert "not to be touched" == (work / "theirs" / "letter.txt").read_text()
    return ended


# What somebody who can write into the output folder may have put there before.


@pytest.mark.parametrize("way", [(), ("--pieces", "9")], ids=["whole", "in pieces"])
@pytest.mark.parametrize("profile", TIFF)
def test_a_link_under_the_name_of_unfinished_work_is_not_followed(
    profile: str, way: tuple[str, ...], work: Path
) -> None:
    (work / "lamp.yaml").write_text(LAMP.replace("ffv1-master", profile))
    final = MASTER if profile == "ffv1-master" else "Lamp-master"
    target = work / "theirs" / ("letter.txt" if profile == "ffv1-master" else "")
    (work / "out" / f".{final}.unfinished").symlink_to(target)
    code, said = rendered(work, *way)

    assert 0 == code, said
    assert not (work / "out" / final).is_symlink()
    assert final in {path.name for path in (work / "out").iterdir()}


def test_a_link_under_the_name_of_the_lock_is_not_followed(work: Path) -> None:
    (work / "out" / ".retime-lock").symlink_to(work / "theirs" / "letter.txt")
    code, said = rendered(work)

    assert 2 == code
    assert ".retime-lock: cannot be opened" in said


def test_a_link_under_the_name_of_the_folder_of_pieces_is_not_followed(
    work: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept: list[Path] = []
    make = Path.mkdir

    def noted(path: Path, mode: int = 0o777, **options: bool) -> None:
        kept.append(path)
        make(path, mode, **options)

    (work / "lamp.yaml").write_text(LAMP.replace("ffv1-master", "prores-mezzanine"))
    monkeypatch.setattr(Path, "mkdir", noted)
    rendered(work, "--pieces", "9")
    (folder,) = {path for path in kept if path.suffix == ".pieces"}
    (work / "out" / "Lamp-master.mov").unlink()
    folder.symlink_to(work / "theirs")
    code, said = rendered(work, "--pieces", "9")

    assert 2 == code
    assert "is no folder of pieces" in said


@pytest.mark.parametrize("what", ["link to a file", "link to a folder", "pipe", "link to nothing"])
@pytest.mark.parametrize("profile", TIFF)
@pytest.mark.parametrize("force", [(), ("--force",)], ids=["", "force"])
def test_whatever_stands_under_a_final_name_is_never_written_into(
    what: str, profile: str, force: tuple[str, ...], work: Path
) -> None:
    (work / "lamp.yaml").write_text(LAMP.replace("ffv1-master", profile))
    final = work / "out" / (MASTER if profile == "ffv1-master" else "Lamp-master")
    targets = {"link to a file": "letter.txt", "link to a folder": "", "link to nothing": "new"}
    if what == "pipe":
        os.mkfifo(final)
    else:
        final.symlink_to(work / "theirs" / targets[what])
    code, said = rendered(work, *force)

    assert (0 if force else 2) == code, said
    assert final.is_symlink() is (not force and what != "pipe")


@pytest.mark.parametrize(
    "place", ["lamp.mkv", "pipe", "/dev/null", "no/where", "theirs/letter.txt"]
)
def test_an_output_folder_that_is_none_is_told(place: str, work: Path) -> None:
    os.mkfifo(work / "pipe")
    code, said = retime("render", work / "lamp.yaml", "-o", work / place)

    assert 2 == code
    assert str(work / place.replace("no/where", "no:")) in said


def test_a_sequence_never_takes_the_place_of_the_folder_of_a_scan(work: Path) -> None:
    write_scan(work / "reel" / "%06d.dpx", 24, "dpx", "gbrp10be")
    text = LAMP.replace("lamp.mkv", "reel/%06d.dpx").replace("ffv1-master", "dpx-sequence")
    (work / "lamp.yaml").write_text(text)
    (work / "out" / "Lamp-master").symlink_to(work / "reel")
    code, said = rendered(work, "--force")

    assert 2 == code
    assert "is one of the inputs" in said
    assert 24 == len(list((work / "reel").iterdir()))


@pytest.mark.parametrize(
    "name",
    [
        '"a\\0b"',
        '"a\\nb"',
        '"a\\eb"',
        "x" * 300,
        "ü" * 150,
        "~/x",
        '"/"',
        "a/../../b",
        '".."',
        '" "',
    ],
)
@pytest.mark.parametrize("key", ["film: Lamp", "  master:", "rate: 24"])
def test_no_name_leads_elsewhere_or_cannot_be_one(key: str, name: str, work: Path) -> None:
    new = {
        "film: Lamp": f"film: {name}",
        "  master:": f"  {name}:",
        "rate: 24": f"rate: 24\n    file: {name}",
    }
    (work / "lamp.yaml").write_text(LAMP.replace(key, new[key]))
    code, said = rendered(work)

    assert 2 == code, said
    assert "lamp.yaml:" in said
    assert [] == list((work / "out").iterdir())


# What a map names that is no file.


def _piped(work: Path, name: str) -> str:
    os.mkfifo(work / name)
    return name


NAMED: dict[str, Callable[[Path], str]] = {
    "scan": lambda work: LAMP.replace("lamp.mkv", _piped(work, "pipe.mkv")),
    "scan that is a device": lambda _: LAMP.replace("lamp.mkv", "/dev/zero"),
    "numbered files": lambda work: LAMP.replace(
        "lamp.mkv", _piped(work, "000001.dpx")[:0] + "%06d.dpx"
    ),
    "shots": lambda work: _shots(_piped(work, "shots.csv")),
    "shots at the terminal": lambda _: _shots("/dev/tty"),
    "shots without end": lambda _: _shots("/dev/zero"),
    "subtitles": lambda work: (
        LAMP + f"    subtitles: [{{file: {_piped(work, 'a.srt')}, follows: slow}}]\n"
    ),
    "film subtitles": lambda work: LAMP + f"    subtitles: [{{file: {_piped(work, 'a.csv')}}}]\n",
    "sound": lambda work: LAMP + f"    sound: [{{file: {_piped(work, 'a.wav')}}}]\n",
    "still": lambda work: LAMP + f"    head: {{still: {_piped(work, 'a.png')}, for: 1 s}}\n",
    "movie": lambda work: LAMP + f"    tail: {{movie: {_piped(work, 'a.mkv')}}}\n",
    "cadence": lambda work: LAMP.replace(
        "last: 23", f"last: 23\n    cadence: {_piped(work, 'a.yaml')}"
    ),
}


def _shots(name: str) -> str:
    head, _, rest = LAMP.partition("shots:\n")
    return f"{head}shots: {name}\nversions:{rest.partition('versions:')[2]}"


@pytest.mark.parametrize("what", NAMED)
def test_nobody_waits_for_a_pipe_that_a_map_names(what: str, work: Path) -> None:
    (work / "lamp.yaml").write_text(NAMED[what](work))
    code, said = retime("lint", work / "lamp.yaml")

    assert 2 == code, said
    assert "lamp.yaml:" in said
    assert 2 == rendered(work)[0]


def test_nobody_waits_for_a_map_that_evidence_names(work: Path) -> None:
    head = "format: retime-evidence/1\nfilm: Lamp\ngauge: 35mm\ncandidates: [16 fps]\n"
    (work / "evidence.yaml").write_text(f"{head}map: {_piped(work, 'pipe.yaml')}\nevidence: []\n")
    code, said = retime("weigh", work / "evidence.yaml")

    assert 2 == code
    assert "evidence.yaml:5:6: " in said
    assert "this is no regular file" in said


def test_files_numbered_far_apart_are_no_endless_sequence(work: Path) -> None:
    write_scan(work / "reel" / "%d.dpx", 2, "dpx", "gbrp10be")
    (work / "reel" / "1.dpx").rename(work / "reel" / f"{10**15}.dpx")
    (work / "lamp.yaml").write_text(LAMP.replace("lamp.mkv", "reel/%d.dpx"))
    code, said = retime("lint", work / "lamp.yaml")

    assert 2 == code
    assert "lamp.yaml:6:11: " in said


def test_a_sound_file_under_the_name_of_another_kind_is_read_as_what_it_is(work: Path) -> None:
    """FFmpeg looks into a file: a playlist under the name of sound opens nothing."""
    write_sound(work / "secret.wav", "pcm_s16le")
    (work / "a.wav").write_text("ffconcat version 1.0\nfile secret.wav\n")
    (work / "lamp.yaml").write_text(LAMP + "    sound: [{file: a.wav}]\n")
    code, said = retime("lint", work / "lamp.yaml")

    assert 2 == code
    assert "a.wav: " in said
