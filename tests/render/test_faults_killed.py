"""Killed at random moments, what the first film of these tests lacks comes out whole too.

That is numbered files copied, disc streams that are made whole, woven fields, numbered files whose
repeats are links, and what stands beside a deliverable: sound, subtitles, chapters. How often
renders are killed is ``RETIME_KILLS``, four times if it is not set; only kills that strike count.
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import time
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from killing import killed
from msgspec import Struct
from numbered import write_scan
from piecemeal import command, left_over
from rendering import write_map
from sounds import RATE, Clicks, write_wav

if TYPE_CHECKING:
    from collections.abc import Mapping

KILLS = int(os.environ.get("RETIME_KILLS", "4"))
PER_RENDER = 5
FRAMES = 60
OWED = """\
  copied: {version: v, profile: as-scanned, rate: 24}
  flags: {version: v, profile: disc-sd-525-muxed, sound: {file: s.wav, follows: 20 fps}}
  woven: {version: v, profile: disc-sd-625}
  fields: {version: v, profile: prores-mezzanine, rate: 25, scanning: top-first, chapters: reels}
  linked:
    version: v
    profile: linked
    rate: 30
    sound: {file: s.wav, follows: 20 fps}
    subtitles: {file: e.srt, follows: 20 fps}
"""
ROUTES = {
    "copied": "copy",
    "flags": "stream",
    "woven": "stream",
    "fields": "stream",
    "linked": "encode-once",
}
TITLES = "1\n00:00:00,500 --> 00:00:01,500\nThe lamp is out.\n"


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a film of numbered files, and what comes of it undisturbed, and when."""
    folder = tmp_path_factory.mktemp("killed")
    write_scan(folder / "r1/%04d.dpx", FRAMES, "dpx", "gbrp10be")
    clicks = Clicks([RATE * n // 3 for n in range(1, 9)]).read(0, 3 * RATE)
    write_wav(folder / "s.wav", np.rint(clicks * 32767).astype(np.int64))
    (folder / "e.srt").write_text(TITLES, encoding="utf-8")
    shipped = Path(__file__).parents[2] / "profiles" / "tiff-sequence.yaml"
    told = shipped.read_text(encoding="utf-8").replace("tiff-sequence", "linked")
    own = folder / "retime" / "profiles" / "linked.yaml"
    own.parent.mkdir(parents=True)
    own.write_text(told.replace("links: no", "links: yes"), encoding="utf-8")
    shots = (
        "  - {reel: 1, first: 0, last: 31, shot: 1}\n  - {reel: 1, first: 32, last: 59, shot: 2}"
    )
    write_map(folder, "  - {reel: 1, scan: r1/%04d.dpx}", OWED, "  v: {speed: 20 fps}", shots)
    (folder / "undisturbed").mkdir()
    began = time.monotonic()
    done = finished(film_command(folder, folder / "undisturbed", "1"), folder)
    (folder / "seconds").write_text(str(time.monotonic() - began))
    for name, route in ROUTES.items():
        assert f"\n{name}: {route}, " in f"\n{done}", done
    return folder


def everything(out: Path) -> dict[str, object]:
    """Return every byte that was made: none of these files says anything by chance."""
    return {
        path.name: {one.name: one.read_bytes() for one in path.iterdir()}
        if path.is_dir()
        else path.read_bytes()
        for path in out.iterdir()
        if not path.name.startswith(".")
    }


@pytest.fixture(scope="module")
def undisturbed(film: Path) -> dict[str, object]:
    found = everything(film / "undisturbed")
    assert {"copied", "flags", "woven", "fields", "linked"} <= {
        name.split("-", 1)[1].split(".")[0] for name in found
    }
    assert len(found) >= len(ROUTES) + 3, "sound, subtitles and chapters stand beside"
    return found


def film_command(film: Path, out: Path, workers: str) -> list[str]:
    return command(film / "map.yaml", out, "--workers", workers)


def finished(arguments: list[str], film: Path) -> str:
    """Run a command to its end, which must be a good one; return what it told."""
    environment = {**os.environ, "XDG_CONFIG_HOME": str(film)}
    done = subprocess.run(
        arguments, capture_output=True, text=True, check=False, env=environment, timeout=300
    )
    assert 0 == done.returncode, done.stderr
    return done.stderr


class State(Struct, frozen=True, kw_only=True):
    """What a render has left: finished pieces, by the journal, and every store by its inode.

    ``named`` is whether deliverables had been given their names, and their pieces been let go.
    ``begun`` are pieces of which there is anything.
    """

    pieces: frozenset[str]
    stores: dict[str, int]
    named: bool
    begun: frozenset[str]

    @property
    def kept(self) -> dict[str, int]:
        """The stores that finished pieces have."""
        return {
            name: inode
            for name, inode in self.stores.items()
            if name.rpartition("-")[0] in self.pieces
        }


def state(out: Path) -> State:
    pieces, stores, named, begun = frozenset[str](), {}, False, frozenset[str]()
    for path in out.glob(".*.pieces/journal.json"):
        told = json.loads(path.read_text(encoding="utf-8"))
        pieces = frozenset(told["pieces"])
        pieces |= {one.stem for one in path.parent.glob("[!.]*.made")}
        stores = {one.name: one.stat().st_ino for one in path.parent.glob("[!.]*.packets")}
        begun = frozenset(
            "-".join(one.name.strip(".").split("-")[:2]) for one in path.parent.glob("*.packets*")
        )
        named |= bool(told["made"])
    return State(pieces=pieces, stores=stores, named=named, begun=begun)


@pytest.mark.parametrize("workers", ["1", "2"])
def test_killed_at_random_moments_every_route_comes_out_as_if_it_never_had_been(
    workers: str, film: Path, undisturbed: Mapping[str, object], tmp_path: Path
) -> None:
    """And no piece that was finished is made again, and no more than one a worker was begun."""
    chance = random.Random(f"more {workers}")  # noqa: S311 - the same moments every time
    struck, number = 0, 0
    longest = float((film / "seconds").read_text())
    ours = {"XDG_CONFIG_HOME": str(film)}
    while struck < max(1, KILLS // 2):
        out = tmp_path / str(number)
        number += 1
        out.mkdir()
        arguments = film_command(film, out, workers)
        for _ in range(PER_RENDER):
            before, began = state(out), time.monotonic()
            if not killed(arguments, chance.uniform(0.3, longest), ours):
                longest = max(0.8, (time.monotonic() - began) * 0.9)
                break
            struck += 1
            now, there = state(out), everything(out)
            assert all(undisturbed[name] == one for name, one in there.items())
            if undisturbed == there and not list(out.glob(".*.pieces")):
                break  # it had only to say so
            assert len(now.begun - now.pieces) <= int(workers)
            if now.stores and not now.named:
                assert before.kept.items() <= now.stores.items()
                assert before.pieces <= now.pieces
        else:
            finished(arguments, film)
        assert undisturbed == everything(out)
        assert {".retime-lock"} >= set(left_over(out))  # which a kill at the very end leaves
        assert links(film / "undisturbed") == links(out)


def links(out: Path) -> list[int]:
    """Return of every numbered file which in its folder is the same file, by their order."""
    files = sorted(one for one in (out / "Numbers-linked").iterdir() if one.suffix == ".tif")
    inodes = [one.stat().st_ino for one in files]
    return [inodes.index(one) for one in inodes]
