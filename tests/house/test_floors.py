"""The house's one rule: a room imports from lower floors and from itself, never sideways or up."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "retime"
FLOORS: tuple[frozenset[str], ...] = (
    frozenset({"ground"}),
    frozenset({"film", "yamldoc", "light"}),
    frozenset({"speedmap", "profile", "signal"}),
    frozenset({"plan", "evidence", "lists"}),
    frozenset({"media", "second", "picture"}),
    frozenset({"detect", "shots"}),
    frozenset({"edition"}),
    frozenset({"follow", "pace"}),
    frozenset({"render", "check"}),
    frozenset({"report", "preview"}),
    frozenset({"cli"}),
)
GROUND = frozenset({"__init__", "errors", "findings", "interrupts"})
FLOOR_OF = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}
PURE = 3
"""Up to this floor no room imports PyAV."""

MODULES = sorted(PACKAGE.rglob("*.py"))


def room_of(path: Path) -> str:
    first = path.relative_to(PACKAGE).with_suffix("").parts[0]
    return "ground" if first in GROUND else first.replace("__main__", "cli")


def imported(path: Path) -> list[tuple[str, int]]:
    """Return every module that a file imports anywhere in it, with the line."""
    found: list[tuple[str, int]] = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: imports are absolute"
            found.append((node.module or "", node.lineno))
            if node.module == "retime":
                found += [(f"retime.{alias.name}", node.lineno) for alias in node.names]
    return found


def target_room(module: str) -> str | None:
    """Return which of our rooms a module belongs to, None for others' modules."""
    parts = module.split(".")
    if parts[0] != "retime":
        return None
    named = parts[1] if len(parts) > 1 else "ground"
    return named if named in FLOOR_OF else "ground"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_room_imports_only_from_lower_floors_and_itself(path: Path) -> None:
    room = room_of(path)
    for module, line in imported(path):
        target = target_room(module)
        if target is None or target == room:
            continue
        assert FLOOR_OF[target] < FLOOR_OF[room], f"{path}:{line}: {room} imports {target}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_the_pure_floors_do_not_import_pyav(path: Path) -> None:
    if FLOOR_OF[room_of(path)] > PURE:
        return
    for module, line in imported(path):
        assert module.split(".")[0] != "av", f"{path}:{line}"


def test_every_room_stands_on_a_floor() -> None:
    rooms = {room_of(path) for path in MODULES}

    assert rooms <= set(FLOOR_OF)
