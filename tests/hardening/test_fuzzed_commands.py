"""Commands given spoiled documents end with 0, 1 or 2 and say why, whatever stands in those."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from commands_here import retime
from fuzz_limits import budget, held_to_limits
from hypothesis import given
from mutations import rearranged, spoiled
from valid_texts import DEMO, valid_texts

if TYPE_CHECKING:
    from pathlib import Path

COMMANDS = {
    # the kind of document, the file's name, the command, and what an example costs in milliseconds
    "lint": ("map", "map.yaml", ("lint",), 40),
    "report": ("map", "map.yaml", ("report", "--format", "json"), 100),
    "weigh": ("evidence", "evidence.yaml", ("weigh", "--format", "json"), 200),
    "shots from an EDL": ("edl", "cuts.edl", ("shots", "--rate", "24"), 20),
    "shots from a plain list": ("plain", "cuts.txt", ("shots", "--gauge", "35mm"), 20),
}


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder in which the demo film's files are at hand."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home"))
    desk = tmp_path / "desk"
    desk.mkdir()
    for path in DEMO.iterdir():
        if path.name not in {"evidence.yaml", "pages"}:  # which would be written through the link
            (desk / path.name).symlink_to(path)
    return desk


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_given_whatever_ends_with_0_1_or_2(command: str, desk: Path) -> None:
    kind, name, arguments, milliseconds = COMMANDS[command]
    texts = valid_texts()[kind]
    documents = rearranged(texts) if kind in {"map", "evidence"} else spoiled(texts)

    @budget(0.1 / len(COMMANDS), milliseconds)
    @given(spoiled(texts) | documents)
    def ends(data: bytes) -> None:
        assert not (desk / name).is_symlink()
        (desk / name).write_bytes(data)
        with held_to_limits():
            code, said = retime(*arguments, desk / name)
        assert code in {0, 1, 2}, said
        assert "Traceback" not in said
        assert code == 0 or said.strip()

    ends()
