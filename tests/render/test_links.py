"""Repeats in numbered files are full copies, or hard links where the profile says so."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from rendering import retime, shown, write_map
from scan_kinds import KINDS

if TYPE_CHECKING:
    from pathlib import Path

LINKED = """\
format: retime-profile/1
profile: linked-dpx
promises: DPX files whose repeats are links
codec: dpx
container: sequence
pixel-formats: [gbrp10be, gbrp10le]
rates: any
links: yes
"""


@pytest.fixture
def rendered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[dict[str, Path], str, Path]:
    """Give the folders of a linked and a copied sequence, the messages, and the map."""
    own = tmp_path / "config" / "retime" / "profiles"
    own.mkdir(parents=True)
    (own / "linked-dpx.yaml").write_text(LINKED, encoding="utf-8")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    KINDS["dpx-10"].write(tmp_path)
    speed_map = write_map(
        tmp_path,
        "  - {reel: 1, scan: scan/%06d.dpx}",
        "  linked: {version: v, profile: linked-dpx, rate: 48}\n"
        "  copied: {version: v, profile: dpx-sequence, rate: 48}",
    )
    output = tmp_path / "out"
    output.mkdir()
    done = retime("render", speed_map, "-o", output)
    assert 0 == done.code, done.messages
    folders = {name: output / f"Numbers-{name}" for name in ("linked", "copied")}
    return folders, done.messages, speed_map


def test_a_repeat_is_a_hard_link_to_its_film_frames_first_file_where_links_are_asked_for(
    rendered: tuple[dict[str, Path], str, Path],
) -> None:
    folders, _, speed_map = rendered
    frames = shown(speed_map, "linked")
    inodes = [path.stat().st_ino for path in sorted(folders["linked"].glob("*.dpx"))]

    firsts = [frames.index(frame) for frame in frames]

    assert [inodes[first] for first in firsts] == inodes
    assert len(set(frames)) == len(set(inodes))


def test_a_repeat_is_a_file_of_its_own_otherwise(
    rendered: tuple[dict[str, Path], str, Path],
) -> None:
    folders, _, speed_map = rendered
    files = sorted(folders["copied"].glob("*.dpx"))

    assert len(shown(speed_map, "copied")) == len({path.stat().st_ino for path in files})
    assert {1} == {path.stat().st_nlink for path in files}


def test_the_risk_of_links_is_told_for_the_linked_deliverable_only(
    rendered: tuple[dict[str, Path], str, Path],
) -> None:
    _, messages, _ = rendered
    warned = [line for line in messages.splitlines() if "repairing one" in line]

    assert ["linked: repeats are links; repairing one file repairs all of them"] == warned
