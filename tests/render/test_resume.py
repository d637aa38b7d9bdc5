"""A render that is broken off goes on where it stood, and comes out as if it never had been.

``RETIME_KILLS`` is how often renders are killed at random moments, six times if it is not set.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from killing import killed
from piecemeal import DELIVERABLES, a_long_film, command, known, left_over
from rendering import retime

from retime.edition.join import join
from retime.errors import ScanError
from retime.render import crew, finals
from retime.render.finals import named_again
from retime.render.job import Job
from retime.render.journal import pieces_folder
from retime.render.means import Means
from retime.render.orders import orders_of
from retime.render.piece_work import make_piece

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from piecemeal import Known
    from rendering import Done

KILLS = int(os.environ.get("RETIME_KILLS", "6"))
PER_RENDER = 6
NINE = Means(pieces=9)
SMALL = ("--pieces", "9", "--workers", "1")
PIECES = 13  # of 70 frames: cut at 9, 18, at the shot at 25, 34, 43, 49, 54, 58, 61, 63, 65, 67


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a film, and what comes of it when nothing happens."""
    folder = tmp_path_factory.mktemp("resume")
    speed_map = a_long_film(folder)
    (folder / "undisturbed").mkdir()
    done = retime("render", speed_map, "-o", folder / "undisturbed", *SMALL)
    assert 0 == done.code, done.messages
    return folder


@pytest.fixture(scope="module")
def undisturbed(film: Path) -> dict[str, Known]:
    return known(film / "undisturbed")


def render(film: Path, out: Path, *more: str) -> Done:
    out.mkdir(exist_ok=True)
    return retime("render", film / "map.yaml", "-o", out, *(more or SMALL))


def broken_off(film: Path, out: Path, after: int, error: BaseException, *more: str) -> Done:
    """Render, and have it end with an error when so many pieces are finished."""
    made = 0

    def making(*told: Any) -> Any:
        nonlocal made
        if made == after:
            raise error
        made += 1
        return make_piece(*told)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(crew, "make_piece", making)
        return render(film, out, *more)


def journal(out: Path) -> dict[str, Any]:
    (path,) = out.glob(".*.pieces/journal.json")
    told = json.loads(path.read_text())
    assert isinstance(told, dict)
    return told


@pytest.mark.parametrize("workers", ["1", "2"])
def test_killed_at_random_moments_it_comes_out_as_if_it_never_had_been(
    workers: str, film: Path, undisturbed: Mapping[str, Known], tmp_path: Path
) -> None:
    chance = random.Random(workers)  # noqa: S311 - the same moments every time
    struck, number = 0, 0
    while struck < max(1, KILLS // 2):  # a kill that comes too late is none
        out = tmp_path / f"{workers}-{number}"
        number += 1
        out.mkdir()
        arguments = command(film / "map.yaml", out, "--workers", workers)
        longest, finished = 6.0, 0
        for _ in range(PER_RENDER):
            began = time.monotonic()
            if not killed(arguments, chance.uniform(0.4, longest)):
                longest = max(1.0, (time.monotonic() - began) * 0.8)
                shutil.rmtree(out)
                out.mkdir()
                finished = 0
                continue
            struck += 1
            there = known(out)
            assert all(undisturbed[name] == one for name, one in there.items())
            if undisturbed == there and not list(out.glob(".*.pieces")):
                break  # it had only to say so
            if list(out.glob(".*.pieces/journal.json")):
                now = len(journal(out)["pieces"])
                assert now >= finished or journal(out)["made"]
                finished = now
        else:
            done = subprocess.run(arguments, capture_output=True, text=True, check=False)
            assert 0 == done.returncode, done.stderr
        assert undisturbed == known(out)
        assert {".retime-lock"} >= set(left_over(out))  # which a kill at the very end leaves


@pytest.mark.parametrize(
    ("error", "code"), [(KeyboardInterrupt(), 130), (ScanError(Path("1.mkv"), "is gone"), 2)]
)
def test_what_is_finished_is_kept_and_the_same_command_goes_on(
    error: BaseException, code: int, film: Path, undisturbed: Mapping[str, Known], tmp_path: Path
) -> None:
    ran = broken_off(film, tmp_path, 3, error)
    (folder,) = tmp_path.glob(".*.pieces")

    assert code == ran.code
    assert [folder.name] == left_over(tmp_path)
    assert {} == known(tmp_path)
    assert f"3 of {PIECES} pieces are finished and kept: the same command goes on" in ran.messages
    assert f"to forget them, remove {folder}" in ran.messages

    again = render(film, tmp_path)

    assert 0 == again.code, again.messages
    assert f"goes on: 3 of {PIECES} pieces are there already" in again.messages
    assert undisturbed == known(tmp_path)
    assert [] == left_over(tmp_path)


def test_pieces_that_are_there_are_not_made_again(film: Path, tmp_path: Path) -> None:
    broken_off(film, tmp_path, 4, KeyboardInterrupt())
    before = _stores(tmp_path)
    ran = broken_off(film, tmp_path, 2, KeyboardInterrupt())

    assert f"6 of {PIECES} pieces are finished and kept" in ran.messages
    assert before.items() <= _stores(tmp_path).items()


def _stores(out: Path) -> dict[str, int]:
    return {path.name: path.stat().st_ino for path in out.glob(".*.pieces/*.packets")}


def test_a_render_that_is_stopped_before_any_piece_is_finished_leaves_nothing(
    film: Path, tmp_path: Path
) -> None:
    ran = broken_off(film, tmp_path, 0, KeyboardInterrupt())

    assert 130 == ran.code
    assert "finished and kept" not in ran.messages
    assert [] == list(tmp_path.iterdir())


def test_a_piece_that_is_not_as_it_was_left_is_made_again(
    film: Path, undisturbed: Mapping[str, Known], tmp_path: Path
) -> None:
    """A flipped bit, a missing file, a changed picture: none gets into a deliverable."""
    broken_off(film, tmp_path, 6, KeyboardInterrupt())
    folder = next(tmp_path.glob(".*.pieces"))
    store = folder / "0-0-0.packets"
    data = bytearray(store.read_bytes())
    data[len(data) // 3] ^= 1
    store.write_bytes(data)
    (folder / "0-2-0.packets").unlink()
    files = sorted((folder / "Numbers-files").iterdir())
    files[len(files) * 4 // 5].write_bytes(b"no picture")
    ran = render(film, tmp_path)

    assert 0 == ran.code, ran.messages
    assert "3 pieces are not as they were left, and are made again" in ran.messages
    assert f"goes on: 3 of {PIECES} pieces" in ran.messages
    assert undisturbed == known(tmp_path)


def test_the_room_that_finished_pieces_take_is_not_asked_for_twice(
    film: Path, tmp_path: Path
) -> None:
    broken_off(film, tmp_path, 6, KeyboardInterrupt())
    edition = join(film / "map.yaml", scans_needed=True)
    orders = orders_of(edition, tmp_path)
    files = [path for path in tmp_path.rglob("*") if path.is_file()]

    assert sum(path.stat().st_size for path in files) == Job(edition, orders, NINE).bytes_there
    (tmp_path / "new").mkdir()
    assert 0 == Job(edition, orders_of(edition, tmp_path / "new"), NINE).bytes_there


def test_what_was_made_in_one_after_all_leaves_no_pieces_of_an_earlier_call(
    film: Path, tmp_path: Path
) -> None:
    broken_off(film, tmp_path, 2, KeyboardInterrupt())
    assert 1 == len(left_over(tmp_path))
    ran = render(film, tmp_path, "--pieces", "1000")

    assert 0 == ran.code, ran.messages
    assert [] == left_over(tmp_path)


def test_no_link_is_taken_for_a_folder_of_pieces(film: Path, tmp_path: Path) -> None:
    edition = join(film / "map.yaml", scans_needed=True)
    folder = pieces_folder(orders_of(edition, tmp_path))
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "0-0-0.packets").write_text("mine")
    folder.symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    ran = render(film, tmp_path)

    assert 2 == ran.code
    assert f"{folder}: is no folder of pieces; move it away" in ran.messages
    assert "mine" == (tmp_path / "elsewhere" / "0-0-0.packets").read_text()


@pytest.mark.parametrize("what", ["map", "scan", "length", "journal"])
def test_what_was_made_by_other_means_is_not_gone_on_with_and_the_difference_is_told(
    what: str, tmp_path: Path
) -> None:
    film = a_long_film(tmp_path, DELIVERABLES.splitlines()[1] + "\n")
    out, more = tmp_path / "out", SMALL
    broken_off(tmp_path, out, 3, KeyboardInterrupt())
    told = {
        "map": "the map, the plan of once-25, where pieces are cut changed",
        "scan": f"the scan {tmp_path / '1.mkv'} changed",
        "length": "where pieces are cut changed",
        "journal": None,
    }[what]
    if what == "map":
        film.write_text(film.read_text().replace("18 fps", "19 fps"))
    elif what == "scan":
        os.utime(tmp_path / "1.mkv", ns=(1, 1))
    elif what == "length":
        more = ("--pieces", "11", "--workers", "1")
    else:
        next(out.glob(".*.pieces/journal.json")).write_text("{")
    ran = render(tmp_path, out, *more)

    assert 0 == ran.code, ran.messages
    assert "goes on" not in ran.messages
    assert told is None or f"begun anew, not gone on with: {told}" in ran.messages
    assert told is not None or "begun anew" not in ran.messages
    assert [] == left_over(out)


def test_stopped_while_names_are_given_it_gives_the_others_theirs_and_makes_nothing(
    film: Path, undisturbed: Mapping[str, Known], tmp_path: Path
) -> None:
    """Even where one has its final name and still the hidden one, as after a kill between."""
    given = 0
    naming = named_again

    def stopped(work: Path, final: Path, *, force: bool) -> None:
        nonlocal given
        given += 1
        if given == 3:
            final.hardlink_to(work)
            raise KeyboardInterrupt
        naming(work, final, force=force)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(finals, "named_again", stopped)
        assert 130 == render(film, tmp_path).code
    there = known(tmp_path)
    assert 3 == len(there)
    assert all(undisturbed[name] == one for name, one in there.items())

    ran = broken_off(film, tmp_path, 0, AssertionError("nothing is left to be made"))

    assert 0 == ran.code, ran.messages
    assert "LUFS" not in ran.messages, "nothing was heard this time"
    assert undisturbed == known(tmp_path)
    assert [] == left_over(tmp_path)


def test_what_is_complete_still_takes_nobody_else_s_name(film: Path, tmp_path: Path) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(finals, "named_again", _interrupted)
        assert 130 == render(film, tmp_path).code
    (tmp_path / "Numbers-copy.mkv").write_text("mine")
    ran = render(film, tmp_path)

    assert 2 == ran.code
    assert "Numbers-copy.mkv: exists already" in ran.messages
    assert "mine" == (tmp_path / "Numbers-copy.mkv").read_text()


def _interrupted(*_: object, **__: object) -> None:
    raise KeyboardInterrupt


@contextmanager
def a_disk(folder: Path, size: int) -> Iterator[Path]:
    """Give a folder that is a disk of ``size`` bytes; skip where none can be made."""
    mount = shutil.which("mount")
    if os.geteuid() != 0 or mount is None:
        pytest.skip("only root can make a small disk")
    folder.mkdir()
    made = [mount, "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)]
    if subprocess.run(made, capture_output=True, check=False).returncode:
        pytest.skip("no disk can be mounted here")
    try:
        yield folder
    finally:
        subprocess.run([shutil.which("umount") or "umount", str(folder)], check=True)


def test_a_disk_that_ran_full_is_gone_on_with_once_there_is_room(
    film: Path, undisturbed: Mapping[str, Known], tmp_path: Path
) -> None:
    with a_disk(tmp_path / "disk", 3_500_000) as disk:
        full = render(film, disk, *SMALL, "--skip-space-check")
        assert 2 == full.code
        assert "the disk is full; make room and render again" in full.messages
        assert "pieces are finished and kept" in full.messages
        assert {} == known(disk)
        more = ["mount", "-o", "remount,size=100000000", str(disk)]
        subprocess.run([shutil.which("mount") or "mount", *more[1:]], check=True)
        again = render(film, disk, *SMALL)

        assert 0 == again.code, again.messages
        assert "goes on: " in again.messages
        assert undisturbed == known(disk)
