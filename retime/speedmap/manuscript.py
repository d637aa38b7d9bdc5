"""A map as it is written, and what it becomes when it is changed in place.

A change is made to the text, read again, and held against what it was to do: the map must still be
sound, and frames that the change is not about must last as long as before, in every version.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import CommandError, DocumentError
from retime.speedmap import reading
from retime.speedmap.arrangement import arrange
from retime.speedmap.lasting import known_lasts, lastings, parting
from retime.speedmap.rules import sound
from retime.speedmap.shot_rows import TableRewriting
from retime.yamldoc.reading import read_bytes, read_named, utf8
from retime.yamldoc.rewriting import Rewriting

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from retime.findings import Finding
    from retime.speedmap.lasting import Lasting
    from retime.speedmap.model import ShotKey, SpeedMap, Version

__all__ = ["Edited", "FileChange", "Manuscript"]

_MARK = b"\xef\xbb\xbf"
"""UTF-8's byte order mark, which a file may begin with."""


class FileChange(Struct, frozen=True, kw_only=True):
    """A file, what it holds and what it is to hold."""

    path: Path
    before: bytes
    after: bytes


class Edited(Struct, frozen=True, kw_only=True):
    """Files that change, the map as it is then, its new warnings, and what is to be said beside."""

    files: tuple[FileChange, ...]
    speed_map: SpeedMap
    warnings: tuple[Finding, ...]
    notes: tuple[str, ...] = ()


class Manuscript:
    """One sound map while it is changed.

    ``table`` is its table of shots, if it has one, and ``places`` are the places of all shots in
    the list, by their full names.
    """

    def __init__(self, path: Path) -> None:
        """Read the map at ``path``.

        Raises:
            DocumentError: something is wrong with it already.
        """
        self.path = path
        self._data = read_bytes(path)
        self.speed_map = reading.read(self._data, path)
        self._odd = {(one.rule, one.text) for one in sound(self.speed_map, {})}
        self.places: dict[ShotKey, int] = {
            shot.key: place for place, shot in enumerate(self.speed_map.shots)
        }
        self.text = Rewriting(utf8(self._data, path), path)
        self.table: TableRewriting | None = None
        self.notes: list[str] = []
        address = self.speed_map.tree.plain().get("shots")
        if isinstance(address, str):
            self._table_path = path.parent / address
            self._table = read_named(self._table_path)
            self.table = TableRewriting(self._table, self._table_path)

    def version(self, name: str) -> Version:
        """Return a version by its name."""
        if name not in self.speed_map.versions:
            known = ", ".join(self.speed_map.versions)
            if not known:
                text = f"{self.path} has no versions yet, and so none is called {name!r}"
                raise CommandError(text, "write one: under versions:, a name and its speed")
            raise CommandError(f"the map has no version {name!r}", f"there are {known}")
        return self.speed_map.versions[name]

    def finished(
        self, allowed: Callable[[Version, Lasting], bool], *, limits: bool = True
    ) -> Edited:
        """Return what comes of the changes.

        ``allowed`` says of a version as it was and a run of frames whether they may change;
        without ``limits`` only speeds are looked at.

        Raises:
            CommandError: the map would be wrong, or more would change than is allowed.
        """
        after = self._marked(self._data, self.text.result())
        files = [FileChange(path=self.path, before=self._data, after=after)]
        table = None
        if self.table is not None:
            table = self._marked(self._table, self.table.result())
            files.append(FileChange(path=self._table_path, before=self._table, after=table))
        try:
            changed = reading.read(after, self.path, table)
            warnings = sound(changed, {})
            for version in changed.versions.values():
                arrange(changed, version, known_lasts(changed))
        except DocumentError as error:
            text = f"the map would be wrong, and stays as it is:\n{error}"
            raise CommandError(text) from error
        self._compare(changed, allowed, limits=limits)
        return Edited(
            files=tuple(one for one in files if one.before != one.after),
            speed_map=changed,
            warnings=tuple(one for one in warnings if (one.rule, one.text) not in self._odd),
            notes=tuple(self.notes),
        )

    def _compare(
        self, changed: SpeedMap, allowed: Callable[[Version, Lasting], bool], *, limits: bool
    ) -> None:
        lasts = known_lasts(self.speed_map)
        for name, version in self.speed_map.versions.items():
            before = lastings(self.speed_map, version, lasts, limits=limits)
            after = lastings(changed, changed.versions[name], lasts, limits=limits)
            for old, new in parting(before, after):
                run = old or new
                if run is not None and not allowed(version, run):
                    text = (
                        f"frames {run.first} to {run.last} of reel {run.reel} would change too, "
                        f"in version {name}; the map stays as it is"
                    )
                    raise CommandError(text, "make this change by hand")

    @staticmethod
    def _marked(before: bytes, text: str) -> bytes:
        return (_MARK if before.startswith(_MARK) else b"") + text.encode()
