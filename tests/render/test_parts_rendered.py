"""Parts of deliverables, rendered alone, are frame for frame what the whole has there.

Where a part lies in the whole is worked out here from the rows of ``retime frames``.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import cache
from hashlib import sha256
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import pytest
from assembled import COPIED, VERSIONS, a_film, a_map, seen, seen_fields
from numbered import write_scan
from rendering import ffmpeg, listed, made, picture_hashes, retime, write_map

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

LEADERS = (
    "head: [{black: 0.15 s}, {movie: logo.mkv}, {still: slate.png, for: 0.1 s}], "
    "tail: {still: end.jpg, for: 0.2 s}"
)
AT_24 = "rate: 24, timecode: 01:00:00:00"
AT_30 = "rate: 29.97, timecode: 01:00:00;00"
OWED = {
    "lossless": f"version: forward, profile: ffv1-master, {AT_24}, {LEADERS}",
    "copied": f"version: cut, profile: ffv1-master, {AT_24}",
    "prores": f"version: forward, profile: prores-mezzanine, {AT_24}, {LEADERS}",
    "viewing": f"version: all, profile: h264-viewing, {AT_30}, {LEADERS}",
    "dpx": f"version: forward, profile: dpx-sequence, {AT_24}, {LEADERS}",
    "tiff": f"version: all, profile: tiff-sequence, {AT_24}, {LEADERS}",
    "jpeg2000": f"version: forward, profile: jpeg2000-mov, {AT_24}, {LEADERS}",
    "woven": f"version: forward, profile: ffv1-master, scanning: top-first, {AT_30}, {LEADERS}",
    "pulldown": (
        "version: at-24, profile: prores-mezzanine, scanning: bottom-first, pulldown: 2:3, "
        f"{AT_30}, {LEADERS}"
    ),
    "blended": f"version: forward, profile: ffv1-master, method: blend, {AT_24}, {LEADERS}",
    "burnt": f"version: all, profile: ffv1-master, burn: [timecode], {AT_24}, {LEADERS}",
    "reordered": f"version: reordered, profile: ffv1-master, {AT_24}, {LEADERS}",
    "disc": f"version: forward, profile: disc-sd-525, timecode: 01:00:00;00, {LEADERS}",
}
REORDERED = "  reordered: {speed: 20 fps, order: [1, 2/3, 2/1-2/2t]}"
ONE_REEL_AFTER_ANOTHER = [name for name, how in OWED.items() if "version: forward" in how]

Rows: TypeAlias = list[dict[str, str]]
Where: TypeAlias = Callable[[Rows], range]
"""From the rows of ``retime frames`` to the output frames of a part."""


class Whole(NamedTuple):
    """A map, and the whole of each of its deliverables."""

    speed_map: Path
    paths: dict[str, Path]


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Whole:
    """Give an assembled film's deliverables, made whole."""
    film, folder = tmp_path_factory.mktemp("film"), tmp_path_factory.mktemp("whole")
    a_film(film)
    owed = "\n".join(f"  {name}: {{{how}}}" for name, how in OWED.items())
    speed_map = a_map(film, folder, owed, f"{VERSIONS}\n{COPIED}\n{REORDERED}")
    text = speed_map.read_text().replace("film: Numbers", "film: Numbers\ntransfer: bt1886")
    speed_map.write_text(text)
    return Whole(speed_map, made(speed_map, folder / "out"))


# Where a part lies


def _between(rows: Rows, belongs: Callable[[dict[str, str]], bool]) -> range:
    """Return the output frames from the first row that belongs to the last."""
    outputs = [int(row["output"]) for row in rows if belongs(row)]
    return range(outputs[0], outputs[-1] + 1)


def _of_reel(name: str) -> Where:
    """Find a reel; what is put into its middle is of it, and nothing is put in at its ends."""
    return lambda rows: _between(rows, lambda row: row["reel"] == name)


def _of_shots(*keys: tuple[str, str]) -> Where:
    """Find shots; a picture in a shot's place has the shot's name and no reel."""
    names = {name for _, name in keys}

    def belongs(row: dict[str, str]) -> bool:
        key = row["reel"], row["shot"]
        return key in keys or (not row["reel"] and row["shot"] in names)

    return lambda rows: _between(rows, belongs)


def _of_labels(begin: str | None, end: str | None) -> Where:
    def found(rows: Rows) -> range:
        at = {row["timecode"]: int(row["output"]) for row in rows}
        stop = len(at) if end is None else at[end]
        return range(0 if begin is None else at[begin], stop)

    return found


def _of_frames(reel: str, begin: int, end: int) -> Where:
    """Find what begins with a film frame, or the next that is shown, and ends before another."""

    def found(rows: Rows) -> range:
        at: dict[int, int] = {}
        for row in rows:
            if row["reel"] == reel:
                at.setdefault(int(row["frame"]), int(row["output"]))
                after = int(row["output"]) + 1
        at[99] = after
        first, stop = (min(one for one in at if one >= frame) for frame in (begin, end))
        return range(at[first], at[stop])

    return found


class Part(NamedTuple):
    """How a part is asked for, of which deliverables, where it lies, how its files are named."""

    asked: str
    of: Sequence[str]
    where: Where
    named: str


PARTS = {
    "a reel": Part("--reel 2", ONE_REEL_AFTER_ANOTHER, _of_reel("2"), "reel-2"),
    "a shot": Part("--shots 2/2t", list(OWED), _of_shots(("2", "2t")), "shots-2-2t"),
    "a replaced shot": Part(
        "--shots 1/1t",
        ["lossless", "viewing", "woven", "tiff"],
        _of_shots(("1", "1t")),
        "shots-1-1t",
    ),
    "shots in a row": Part(
        "--shots 1/4-2/2t",
        ONE_REEL_AFTER_ANOTHER,
        _of_shots(("1", "4"), ("2", "1"), ("2", "2t")),
        "shots-1-4-2-2t",
    ),
    "from label to label": Part(
        "--from 01:00:00:11 --to 01:00:02:01",
        ["lossless", "copied", "prores", "dpx", "tiff", "jpeg2000", "blended", "burnt"],
        _of_labels("01:00:00:11", "01:00:02:01"),
        "from-01.00.00.11_to-01.00.02.01",
    ),
    "from drop-frame label to label": Part(
        "--from 01:00:00;11 --to 01:00:02;01",
        ["viewing", "woven", "pulldown", "disc"],
        _of_labels("01:00:00;11", "01:00:02;01"),
        "from-01.00.00-11_to-01.00.02-01",
    ),
    "from within the head": Part(
        "--from 00:59:59:18",
        ["lossless", "burnt"],
        _of_labels("00:59:59:18", None),
        "from-00.59.59.18",
    ),
    "up to within the head": Part(
        "--to 00:59:59;28", ["viewing", "disc"], _of_labels(None, "00:59:59;28"), "to-00.59.59-28"
    ),
    # 35 mm film has 16 frames to a foot.
    "from feet to feet": Part(
        "--from 0+05 --to 1+04",
        ["lossless", "viewing", "woven", "pulldown", "blended", "disc", "tiff"],
        _of_frames("1", 5, 20),
        "from-0+05_to-1+04",
    ),
    "from feet to feet in a reel": Part(
        "--reel 2 --from 0+03 --to 0+12",
        ["prores", "woven", "jpeg2000"],
        _of_frames("2", 3, 12),
        "reel-2_from-0+03_to-0+12",
    ),
    "up to the end of the reel": Part(
        "--from 0+15 --to 1+08",
        ["lossless", "prores"],
        _of_frames("1", 15, 24),
        "from-0+15_to-1+08",
    ),
    "from a frame that plays after later ones": Part(
        "--reel 2 --from 0+02 --to 0+05",
        ["reordered"],
        _of_frames("2", 2, 5),
        "reel-2_from-0+02_to-0+05",
    ),
}


@pytest.mark.parametrize("name", PARTS)
def test_a_part_is_frame_for_frame_what_the_whole_has_there(name: str, whole: Whole) -> None:
    part = PARTS[name]
    folder = next(iter(whole.paths.values())).parent
    before = _digests(folder)

    paths = made(whole.speed_map, folder, *part.of, *part.asked.split())

    assert set(part.of) == set(paths)
    assert before == {path: digest for path, digest in _digests(folder).items() if path in before}
    for deliverable, path in paths.items():
        rows = listed(whole.speed_map, deliverable)
        outputs = part.where(rows)
        first = next(row for row in rows if int(row["output"]) == outputs.start)
        ending = whole.paths[deliverable].suffix
        assert 0 < len(outputs) < int(rows[-1]["output"]) + 1
        assert f"Numbers-{deliverable}.{part.named}{ending}" == path.name
        assert _in(deliverable, whole.paths[deliverable])[_slice(deliverable, outputs)] == _in(
            deliverable, path
        )
        assert first["timecode"] == _label_in(path)


def _slice(deliverable: str, outputs: range) -> slice:
    times = 2 if deliverable == "disc" else 1
    return slice(times * outputs.start, times * outputs.stop)


@cache
def _in(deliverable: str, path: Path) -> Sequence[object]:
    """Return what every frame of a file is: its coded picture, its samples, or its number."""
    if deliverable == "disc":  # flags carry the whole and never a part
        return seen_fields(path, flagged="." not in path.stem)
    if deliverable == "viewing":
        return seen(path)
    if path.is_dir():
        return picture_hashes(path, "gbrp10le" if deliverable == "dpx" else "rgb48le")
    done = ffmpeg("-i", path, "-map", "0:v:0", "-c", "copy", "-f", "framehash", "-hash", "md5", "-")
    lines = done.stdout.decode().splitlines()
    return [line.rpartition(",")[2].strip() for line in lines if not line.startswith("#")]


def _label_in(path: Path) -> str:
    """Return a file's first label: of its track, its first group, or what lies beside its files."""
    if path.is_dir():
        return str(json.loads((path / "about.json").read_text())["timecode"])
    if path.suffix == ".m2v":
        return _group_label(path.read_bytes())
    told = ffmpeg("-i", path, "-f", "null", "-", level="info").stderr.decode()
    found = re.search(r"timecode\s*: (\S+)", told, re.IGNORECASE)
    assert found, told
    return found[1]


def _group_label(stream: bytes) -> str:
    """Read the first group's time code: ISO/IEC 13818-2, section 6.2.2.6."""
    at = stream.index(b"\0\0\1\xb8") + 4
    bits = f"{int.from_bytes(stream[at : at + 4], 'big'):032b}"
    drop, hours, minutes, marker, seconds, pictures = (
        int(bits[first:stop], 2) for first, stop in pairwise((0, 1, 6, 12, 13, 19, 25))
    )
    assert 1 == marker
    return f"{hours:02}:{minutes:02}:{seconds:02}{';' if drop else ':'}{pictures:02}"


def _digests(folder: Path) -> dict[Path, str]:
    """Return a checksum of every file in a folder and in those below it."""
    files = (one for one in folder.rglob("*") if one.is_file())
    return {one: sha256(one.read_bytes()).hexdigest() for one in files}


# What is read

PART_OF_A_REEL = ["--from", "0+02", "--to", "0+10"]


@pytest.mark.parametrize("profile", ["ffv1-master", "prores-mezzanine", "h264-viewing"])
def test_what_a_scan_lacks_after_a_part_does_not_matter(profile: str, tmp_path: Path) -> None:
    write_scan(tmp_path / "1.mkv", 40, "ffv1", "yuv422p10le", {"level": "3", "g": "1"})
    owed = f"  a: {{version: v, profile: {profile}, rate: 24}}"
    speed_map = write_map(tmp_path, "  - {reel: 1, scan: 1.mkv, frames: 40}", owed)
    path = made(speed_map, tmp_path / "out")["a"]
    scan = (tmp_path / "1.mkv").read_bytes()
    (tmp_path / "1.mkv").write_bytes(scan[: len(scan) // 2])

    part = made(speed_map, tmp_path / "part", *PART_OF_A_REEL)["a"]
    (tmp_path / "again").mkdir()
    again = retime("render", speed_map, "-o", tmp_path / "again")

    outputs = _of_frames("1", 2, 10)(listed(speed_map, "a"))
    assert seen(path)[outputs.start : outputs.stop] == seen(part)
    assert 2 == again.code
    assert "1.mkv" in again.messages


def test_a_part_of_numbered_files_reads_no_others(tmp_path: Path) -> None:
    write_scan(tmp_path / "1" / "%06d.dpx", 40, "dpx", "gbrp10be")
    owed = "  a: {version: v, profile: dpx-sequence, rate: 24}"
    speed_map = write_map(tmp_path, "  - {reel: 1, scan: 1/%06d.dpx}", owed)
    path = made(speed_map, tmp_path / "out")["a"]
    for number in (0, 1, *range(11, 40)):
        (tmp_path / "1" / f"{number:06}.dpx").write_bytes(b"SDPX and nothing else")
    # The first file is looked at for what the pictures are.
    (tmp_path / "1" / "000000.dpx").write_bytes((tmp_path / "1" / "000002.dpx").read_bytes())

    part = made(speed_map, tmp_path / "part", *PART_OF_A_REEL)["a"]

    outputs = _of_frames("1", 2, 10)(listed(speed_map, "a"))
    assert seen(path)[outputs.start : outputs.stop] == seen(part)
