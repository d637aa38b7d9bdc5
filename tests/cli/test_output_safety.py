"""Nothing that exists is overwritten unasked, no input ever, and no disk runs full unsaid."""

from __future__ import annotations

import os
import shutil
import subprocess
import wave
from collections import namedtuple
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from numbered import read_movie, write_scan
from running import LAMP, contents, unfinished, write_noise

from retime.edition.join import join
from retime.errors import OutputError
from retime.render.job import render
from retime.render.names import check_free
from retime.render.orders import orders_of
from retime.render.progress import Silent
from retime.render.space import bytes_needed, check_space

if TYPE_CHECKING:
    from collections.abc import Iterator

    from running import Program

pytest_plugins = ["at_the_desk"]

PROFILES = {
    "as-scanned": "Lamp-viewing.mkv",
    "prores-mezzanine": "Lamp-viewing.mov",
    "h264-viewing": "Lamp-viewing.mp4",
    "tiff-sequence": "Lamp-viewing",
}
"""A profile for each route, and one whose deliverable is a folder; the name each makes."""


def written(work: Path, profile: str = "h264-viewing", **keys: str) -> Path:
    """Write the map with a profile, and keys of the deliverable's own; return its path."""
    more = "".join(f"\n    {key}: {value}" for key, value in keys.items())
    path = work / "lamp.yaml"
    path.write_text(LAMP.replace("h264-viewing", profile).replace("rate: 24", f"rate: 24{more}"))
    return path


@pytest.mark.parametrize("profile", PROFILES)
def test_what_exists_is_overwritten_only_when_asked(
    profile: str, work: Path, retime: Program
) -> None:
    speed_map, final = written(work, profile), work / "out" / PROFILES[profile]
    first = retime("render", speed_map, "-o", work / "out")
    made = contents(work)
    second = retime("render", speed_map, "-o", work / "out")

    assert (0, f"{final}\n") == (first.code, first.out)
    assert (2, "") == (second.code, second.out)
    assert f"{final}: exists already; use --force to overwrite it\n" == second.err
    assert made == contents(work)

    inode = final.stat().st_ino
    third = retime("render", speed_map, "-o", work / "out", "--force")

    assert (0, f"{final}\n") == (third.code, third.out)
    assert sorted(made) == sorted(contents(work))
    assert inode != final.stat().st_ino
    assert [] == unfinished(work / "out")


@pytest.mark.parametrize("profile", ["h264-viewing", "tiff-sequence"])
@pytest.mark.parametrize("what", ["file", "folder", "dangling link"])
def test_whatever_has_the_name_of_a_deliverable_stays(
    what: str, profile: str, work: Path, retime: Program
) -> None:
    final = work / "out" / PROFILES[profile]
    if what == "file":
        final.write_text("mine")
    elif what == "folder":
        final.mkdir()
        (final / "mine.txt").write_text("mine")
    else:
        final.symlink_to("nowhere")
    speed_map, before = written(work, profile), contents(work / "out")
    ran = retime("render", speed_map, "-o", work / "out")

    assert 2 == ran.code
    assert f"{final}: exists already" in ran.err
    assert before == contents(work / "out")


@pytest.mark.parametrize("profile", ["h264-viewing", "tiff-sequence"])
def test_not_even_force_removes_a_folder_that_holds_anything_else(
    profile: str, work: Path, retime: Program
) -> None:
    final = work / "out" / PROFILES[profile]
    final.mkdir()
    (final / f"{final.name}.0000000.tif").write_text("a frame")
    (final / "notes.txt").write_text("mine")
    speed_map, before = written(work, profile), contents(work / "out")
    ran = retime("render", speed_map, "-o", work / "out", "--force")

    assert 2 == ran.code
    assert f"{final}: is a folder that holds notes.txt, which is no part of a rendered" in ran.err
    assert "in one pass" not in ran.err, "it is told before the work, not after it"
    assert before == contents(work / "out")


def test_force_puts_a_sequence_in_the_place_of_a_file(work: Path, retime: Program) -> None:
    final = work / "out" / "Lamp-viewing"
    final.write_text("old")
    ran = retime("render", written(work, "tiff-sequence"), "-o", work / "out", "--force")

    assert 0 == ran.code
    assert 33 == len(list(final.iterdir()))  # 24 frames at 18 make 32, and about.json
    assert [] == unfinished(work / "out")


def test_a_sequence_that_cannot_take_its_place_leaves_the_old_one_there(
    work: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    edition = join(written(work, "tiff-sequence"), scans_needed=True)
    orders = orders_of(edition, work / "out")
    render(edition, orders, Silent(), force=False)
    before, rename = contents(work), Path.rename

    def failing(path: Path, target: Path) -> Path:
        if path.name.endswith(".unfinished"):
            raise KeyboardInterrupt
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", failing)
    with pytest.raises(KeyboardInterrupt):
        render(edition, orders, Silent(), force=True)

    assert before == contents(work)


@pytest.mark.parametrize("option", [(), ("--force",)])
@pytest.mark.parametrize("way", ["plain", "link to file", "link to folder", "hard link"])
def test_no_scan_is_ever_written_over(
    way: str, option: tuple[str, ...], work: Path, retime: Program
) -> None:
    out = work
    if way == "link to folder":
        out = work / "out" / "here"
        out.symlink_to(work, target_is_directory=True)
    elif way == "link to file":
        out = work / "out"
        (out / "lamp.mkv").symlink_to(work / "lamp.mkv")
    elif way == "hard link":
        out = work / "out"
        (out / "lamp.mkv").hardlink_to(work / "lamp.mkv")
    speed_map = written(work, "ffv1-master", file="lamp.mkv")
    before = contents(work)
    ran = retime("render", speed_map, "-o", out, *option)

    assert 2 == ran.code
    assert f"{out}/lamp.mkv: is one of the inputs; render into another folder" in ran.err
    assert before == contents(work)


@pytest.mark.parametrize(
    ("profile", "file", "reason"),
    [
        ("ffv1-master", "lamp.yaml", "is one of the inputs"),
        ("ffv1-master", "shots.csv", "is one of the inputs"),
        ("tiff-sequence", "reels", "is a folder that an input is in"),
        ("tiff-sequence", "r1", "is one of the inputs"),
        ("ffv1-master", "0003.dpx", "lies among the files of a scan"),
    ],
)
def test_no_other_input_is_ever_written_over(
    profile: str, file: str, reason: str, work: Path, retime: Program
) -> None:
    write_scan(work / "reels" / "r1" / "%04d.dpx", 1, "dpx", "gbrp10be")
    write_scan(work / "reels" / "r1" / "%04d.dpx", 24, "dpx", "gbrp10be")
    (work / "shots.csv").write_text("reel,first,last,shot\n1,0,23,1\n")
    speed_map = written(work, profile, file=file)
    text = speed_map.read_text().replace("lamp.mkv", "reels/r1/%04d.dpx")
    head, tail = text[: text.index("shots:")], text[text.index("versions:") :]
    speed_map.write_text(f"{head}shots: shots.csv\n{tail}")
    out = {"r1": work / "reels", "0003.dpx": work / "reels" / "r1"}.get(file, work)
    before = contents(work)
    ran = retime("render", speed_map, "-o", out, "--force")

    assert 2 == ran.code
    assert f"{out / file}: {reason}" in ran.err
    assert before == contents(work)


@pytest.mark.parametrize("key", ["sound", "subtitles"])
def test_no_recording_and_no_subtitles_are_ever_written_over(
    key: str, work: Path, retime: Program
) -> None:
    name = {"sound": "score.mkv", "subtitles": "titles.srt"}[key]
    if key == "sound":
        with wave.open(str(work / name), "wb") as file:
            file.setparams((1, 2, 48000, 0, "NONE", ""))
            file.writeframes(bytes(2 * 48000))
    else:
        (work / name).write_text("1\n00:00:00,000 --> 00:00:00,500\nThe lamp.\n")
    speed_map = written(work, "ffv1-master", file=name, **{key: f"{{file: {name}}}"})
    before = contents(work)
    ran = retime("render", speed_map, "-o", work, "--force")

    assert 2 == ran.code
    assert f"{work / name}: is one of the inputs" in ran.err
    assert before == contents(work)


def test_a_profile_that_the_map_uses_is_never_written_over(
    work: Path, own_home: Path, retime: Program
) -> None:
    profiles = own_home / "retime" / "profiles"
    profiles.mkdir(parents=True)
    shipped = Path(__file__).parents[2] / "profiles" / "ffv1-master.yaml"
    shutil.copy(shipped, profiles)
    speed_map = written(work, "ffv1-master", file="ffv1-master.yaml")
    ran = retime("render", speed_map, "-o", profiles, "--force")

    assert 2 == ran.code
    assert "ffv1-master.yaml: is one of the inputs" in ran.err
    assert shipped.read_bytes() == (profiles / "ffv1-master.yaml").read_bytes()


def test_a_scan_with_the_name_of_an_unfinished_deliverable_is_not_cleared_away(
    work: Path, retime: Program
) -> None:
    scan = work / "out" / ".Lamp-viewing.mp4.unfinished"
    shutil.move(work / "lamp.mkv", scan)
    speed_map = work / "lamp.yaml"
    speed_map.write_text(LAMP.replace("lamp.mkv", f"out/{scan.name}"))
    ran = retime("render", speed_map, "-o", work / "out")

    assert 2 == ran.code
    assert "is one of the inputs" in ran.err
    assert scan.exists()


class _Racing(Silent):
    """Puts something in a deliverable's place while it is rendered."""

    def __init__(self, final: Path, what: str) -> None:
        self._final, self._what = final, what

    def finish(self) -> None:
        """Not reached: the race is lost before."""

    def advance(self, pictures: int) -> None:
        """Put it there, once."""
        del pictures
        if self._what == "file" and not self._final.exists():
            self._final.write_text("came in between")
        elif self._what != "file":
            self._final.mkdir(exist_ok=True)
            if self._what == "full folder":
                (self._final / "mine.txt").write_text("came in between")


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("what", ["file", "full folder", "empty folder"])
@pytest.mark.parametrize("links", [True, False])
def test_what_takes_the_name_during_a_render_is_not_overwritten(
    links: bool,  # noqa: FBT001
    what: str,
    profile: str,
    work: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    edition = join(written(work, profile), scans_needed=True)
    orders = orders_of(edition, work / "out")
    final = orders[0].final
    if not links:

        def no_links(*_: object, **__: object) -> None:
            raise PermissionError

        monkeypatch.setattr(os, "link", no_links)
    with pytest.raises(OutputError, match="exists already"):
        render(edition, orders, _Racing(final, what), force=False)

    assert [] == unfinished(work / "out")
    assert final.is_file() == (what == "file")
    assert {"file": ["Lamp"], "full folder": ["Lamp", "mine"], "empty folder": ["Lamp"]}[what] == [
        path.name.split("-")[0].split(".")[0] for path in sorted((work / "out").rglob("*"))
    ]


def test_a_disk_without_links_still_gets_its_file(
    work: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_: object, **__: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "link", no_links)
    edition = join(written(work), scans_needed=True)
    orders = orders_of(edition, work / "out")
    render(edition, orders, Silent(), force=False)

    assert 32 == len(read_movie(orders[0].final))
    assert [] == unfinished(work / "out")


def test_what_a_killed_render_left_is_cleared_away(work: Path, retime: Program) -> None:
    (work / "out" / ".Lamp-viewing.mp4.unfinished").write_text("half")
    ran = retime("render", written(work), "-o", work / "out")

    assert 0 == ran.code
    assert ["Lamp-viewing.mp4"] == [path.name for path in (work / "out").iterdir()]


@pytest.mark.parametrize("name", ["..", "../out2", "/x", "a/b", ".hidden", "a\\\\b"])
def test_no_name_in_a_map_leaves_the_folder(name: str, work: Path, retime: Program) -> None:
    for old, new in (
        ("film: Lamp", f'film: "{name}"'),
        ("  viewing:", f'  "{name}":'),
        ("rate: 24", f'rate: 24\n    file: "{name}"'),
    ):
        (work / "lamp.yaml").write_text(LAMP.replace(old, new))
        before = contents(work)
        ran = retime("render", work / "lamp.yaml", "-o", work / "out")

        assert 2 == ran.code
        assert "the name" in ran.err
        assert before == contents(work)


def test_two_deliverables_never_have_one_name(work: Path, retime: Program) -> None:
    (work / "lamp.yaml").write_text(
        LAMP + "  second:\n    version: slow\n    profile: h264-viewing\n    rate: 24\n"
        "    file: LAMP-viewing.mp4\n"
    )
    ran = retime("render", work / "lamp.yaml", "-o", work / "out")

    assert 2 == ran.code
    assert 'lamp.yaml:25:5: "second" and "viewing" have one' in ran.err


# Room on the disk.

Usage = namedtuple("Usage", "total used free")  # noqa: PYI024 - as shutil has it


@pytest.mark.parametrize("profile", PROFILES)
def test_a_disk_that_has_no_room_is_told_before_a_byte_is_written(
    profile: str, work: Path, retime: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    speed_map = written(work, profile)
    edition = join(speed_map, scans_needed=True)
    (order,) = orders_of(edition, work / "out")
    needed = bytes_needed(edition, order)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(10**9, 10**9 - needed, needed))
    check_space(edition, [order], work / "out")
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(10**9, 10**9, needed - 1))
    before = contents(work)
    ran = retime("render", speed_map, "-o", work / "out")

    assert 2 == ran.code
    assert f"{work}/out: has " in ran.err
    assert " free, and the deliverables need about " in ran.err
    assert before == contents(work)

    assert 0 == retime("render", speed_map, "-o", work / "out", "--skip-space-check").code


def test_copies_and_linked_sequences_are_reckoned_by_what_they_take(
    work: Path, own_home: Path
) -> None:
    """A copy takes the scan's bytes by the shown frames over its own; links take one file each."""
    edition = join(written(work, "as-scanned"), scans_needed=True)
    (copy,) = orders_of(edition, work / "out")

    assert (work / "lamp.mkv").stat().st_size * 32 // 24 == bytes_needed(edition, copy)

    shipped = (Path(__file__).parents[2] / "profiles" / "tiff-sequence.yaml").read_text()
    path = own_home / "retime" / "profiles" / "linked.yaml"
    path.parent.mkdir(parents=True)
    path.write_text(shipped.replace("tiff-sequence", "linked").replace("links: no", "links: yes"))
    full = join(written(work, "tiff-sequence"), scans_needed=True)
    linked = join(written(work, "linked"), scans_needed=True)
    each = [
        bytes_needed(one, order) for one in (full, linked) for order in orders_of(one, work / "out")
    ]

    assert each[0] * 24 // 32 == pytest.approx(each[1], abs=1)


def _tool(name: str) -> str:
    """Return the path of a program of the system's; skip where it is missing."""
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"there is no {name} here")
    return found


@contextmanager
def small_disk(folder: Path, size: int) -> Iterator[Path]:
    """Give a folder that is a disk of its own, of ``size`` bytes; skip where none can be made."""
    if os.geteuid() != 0:
        pytest.skip("only root can make a small disk")
    folder.mkdir(exist_ok=True)
    mount = [_tool("mount"), "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)]
    if subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("no disk can be mounted here")
    try:
        yield folder
    finally:
        subprocess.run([_tool("umount"), str(folder)], check=True)


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("share", ["first", "half", "last"])
def test_a_disk_that_runs_full_leaves_nothing_and_says_so(
    share: str, profile: str, work: Path, retime: Program
) -> None:
    write_noise(work / "lamp.mkv", 24, "ffv1", "gray", {"level": "3", "g": "1"})
    speed_map = written(work, profile)
    retime("render", speed_map, "-o", work / "out")
    made = work / "out" / PROFILES[profile]
    files = list(made.iterdir()) if made.is_dir() else [made]
    page = os.sysconf("SC_PAGE_SIZE")
    pages = sum(-(-file.stat().st_size // page) for file in files)
    size = page * {"first": 1, "half": max(pages // 2, 1), "last": pages - 1}[share]
    with small_disk(work / "disk", size) as disk:
        ran = retime("render", speed_map, "-o", disk, "--skip-space-check")
        left = list(disk.iterdir())

    assert (2, "") == (ran.code, ran.out)
    assert f"{disk}/{made.name}: the disk is full; make room and render again" in ran.err
    assert [] == left


def test_a_folder_that_may_not_be_written_is_told(work: Path, retime: Program) -> None:
    if os.geteuid() == 0:
        with small_disk(work / "disk", 1 << 20) as disk:
            subprocess.run([_tool("mount"), "-o", "remount,ro", str(disk)], check=True)
            ran = retime("render", written(work), "-o", disk, "--skip-space-check")
        reason = "is on a disk that is read-only"
    else:
        (work / "out").chmod(0o500)
        ran = retime("render", written(work), "-o", work / "out")
        (work / "out").chmod(0o700)
        reason = "may not be written"

    assert 2 == ran.code
    assert f"Lamp-viewing.mp4: {reason}" in ran.err


def test_the_check_of_names_can_be_asked_alone(work: Path) -> None:
    edition = join(written(work), scans_needed=True)
    free = work / "out" / "Lamp-viewing.mp4"
    check_free(edition, [free], force=False)
    free.touch()

    with pytest.raises(OutputError, match="exists already"):
        check_free(edition, [free], force=False)
    check_free(edition, [free], force=True)
