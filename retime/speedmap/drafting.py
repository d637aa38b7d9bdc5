"""From a document to a map, keeping what can be kept of one that has mistakes.

A map with a mistake is refused, but all its mistakes are to be told at once, those that need two
parts of it included. So the parts that cannot be read are left out and the rest is judged too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

from msgspec import Struct

from retime.errors import DocumentError
from retime.findings import Finding
from retime.speedmap.assembling import assembled, shots_of
from retime.speedmap.document import FORMAT, MapDocument, ShotSection
from retime.speedmap.place import Where
from retime.speedmap.shotlist import read_shots
from retime.yamldoc.binding import examine
from retime.yamldoc.reading import read_named

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.speedmap.model import Shot, SpeedMap
    from retime.yamldoc.binding import Fault
    from retime.yamldoc.tree import NodePath, Tree

__all__ = ["Draft", "draft"]

_Plain: TypeAlias = dict[str, Any]

_ITEMS = ("reels", "shots", "versions", "deliverables")
_OPTIONAL = ("footage", "shots", "deliverables", "order", "omit", "insert", "replace")
_STAND_INS = {"format": FORMAT, "film": "film", "gauge": "35mm"}


class Draft(Struct, frozen=True, kw_only=True):
    """What could be read of a map, and what is wrong; ``whole`` if no part was left out."""

    speed_map: SpeedMap | None
    findings: tuple[Finding, ...]
    whole: bool


def draft(tree: Tree, table: bytes | None = None) -> Draft:
    """Read a map from its tree, and its table of shots if it names one.

    ``table`` is what the table is to hold, None for what its file holds.
    """
    drafting = _Drafting(tree, table)
    document = drafting.document()
    speed_map = None
    if document is not None:
        shots = drafting.shots(document)
        reels = drafting.reels(document)
        speed_map, findings = assembled(document, tree, shots, reels, whole=drafting.whole)
        drafting.findings += findings
    return Draft(speed_map=speed_map, findings=tuple(drafting.findings), whole=drafting.whole)


class _Drafting:
    """One map while it is read."""

    def __init__(self, tree: Tree, table: bytes | None) -> None:
        self.findings = list(tree.findings)
        self.whole = not tree.findings
        self._tree = tree
        self._table = table
        self._lost: set[NodePath] = set()

    def document(self) -> MapDocument | None:
        """Return the document without the parts that are wrong, if there is one without them."""
        plain = self._tree.plain()
        document, faults = examine(MapDocument, plain, self._tree)
        self._tell(faults)
        if faults and self._leave_out(plain, faults):
            document, _ = examine(MapDocument, plain, self._tree)
        return document

    def reels(self, document: MapDocument) -> list[Where]:
        """Return where each of the document's reels stands."""
        return self._kept("reels", len(document.reels))

    def shots(self, document: MapDocument) -> tuple[Shot, ...]:
        """Return the map's shots, wherever they are listed."""
        if not isinstance(document.shots, str):
            rows = document.shots or []
            return shots_of(rows, self._kept("shots", len(rows)))
        path = self._tree.path.parent / document.shots
        try:
            held = read_named(path) if self._table is None else self._table
            table, findings = read_shots(held, path)
        except DocumentError as error:
            self.findings += (self._placed(one) for one in error.findings)
            self.whole = False
            return ()
        self.findings += findings
        self.whole &= not findings
        plain = table.plain()
        read, faults = examine(list[ShotSection], plain, table)
        self._tell(faults)
        bad = {fault.path[0] for fault in faults}
        kept = [index for index in range(len(plain)) if index not in bad]
        if read is None:
            read, _ = examine(list[ShotSection], [plain[index] for index in kept], table)
        return shots_of(read, [Where(table, (index,)) for index in kept]) if read else ()

    def _tell(self, faults: Iterable[Fault]) -> None:
        for fault in faults:
            self.whole &= fault.superfluous
            if not fault.told:
                self.findings.append(fault.finding)

    def _placed(self, finding: Finding) -> Finding:
        """Place what is wrong with a file as a whole where the map names that file."""
        if finding.rule not in {"unreadable", "too-large"}:
            return finding
        return Finding(
            place=self._tree.place(("shots",)),
            rule=finding.rule,
            text=f"{finding.place}: {finding.text}",
            hint=finding.hint,
        )

    def _leave_out(self, plain: _Plain, faults: Iterable[Fault]) -> bool:
        """Take the wrong parts out of ``plain``; say whether that could be done."""
        for fault in faults:
            head = str(fault.path[0])
            if fault.superfluous:
                _delete(plain, fault.path)
            elif head in _ITEMS and len(fault.path) > 1:
                self._lost.add(fault.path[:2])
            elif head in _OPTIONAL:
                plain.pop(head, None)
            elif head in _STAND_INS:
                plain[head] = _STAND_INS[head]
            else:
                return False
        for name in _ITEMS:
            lost = {path[1] for path in self._lost if path[0] == name}
            if lost:
                plain[name] = _without(plain[name], lost)
        return True

    def _kept(self, name: str, count: int) -> list[Where]:
        """Return where the ``count`` items of a list stand that are left of it."""
        total = count + sum(path[0] == name for path in self._lost)
        paths = [(name, index) for index in range(total)]
        return [Where(self._tree, path) for path in paths if path not in self._lost]


def _without(items: Any, lost: set[str | int]) -> Any:
    if isinstance(items, list):
        return [item for index, item in enumerate(items) if index not in lost]
    if isinstance(items, dict):
        return {key: item for key, item in items.items() if key not in lost}
    return items


def _delete(plain: _Plain, path: NodePath) -> None:
    inner: Any = plain
    for step in path[:-1]:
        inner = inner[step]
    inner.pop(path[-1], None)
