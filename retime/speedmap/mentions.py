"""Where a map names shots: in rules, selections, insets, replacements, scores and chapters."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from retime.errors import NotationError
from retime.speedmap.shotkeys import shot_keys

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from retime.speedmap.model import ShotKey, SpeedMap
    from retime.yamldoc.tree import NodePath

__all__ = ["Mention", "Use", "mentions"]


class Use(StrEnum):
    """What a map names shots for."""

    RULE = "a rule"
    PART = "a part of the film"
    AFTER = "the place after"
    BEFORE = "the place before"
    POINT = "its beginning"
    PICTURE = "a picture in its place"


class Mention(Struct, frozen=True, kw_only=True):
    """One place: the shots from ``first`` to ``last`` in list order, at ``path``.

    Rules and replacements name shots in their keys, and everything else in a value.
    """

    path: NodePath
    use: Use
    first: ShotKey
    last: ShotKey

    @property
    def in_key(self) -> bool:
        """Say whether the shots are named in a key."""
        return self.use in {Use.RULE, Use.PICTURE}


def mentions(speed_map: SpeedMap) -> Iterator[Mention]:
    """Yield every place of a sound map that names shots, in the order of its parts."""
    plain = speed_map.tree.plain()
    finder = _Finder(
        {shot.key for shot in speed_map.shots}, {reel.name for reel in speed_map.reels}
    )
    yield from finder.assembly(plain, ())
    for name, version in plain["versions"].items():
        path: NodePath = ("versions", name)
        yield from finder.assembly(version, path)
        for key in version.get("shots", {}):
            yield from finder.named(key, (*path, "shots", key), Use.RULE)
        for number, cue in enumerate(version.get("meet", {}).get("cues", [])):
            cue_path = (*path, "meet", "cues", number, "at")
            yield from finder.named(cue["at"], cue_path, Use.POINT)
    for name, deliverable in plain.get("deliverables", {}).items():
        chapters = deliverable.get("chapters")
        for number, mark in enumerate(chapters if isinstance(chapters, list) else []):
            at_path: NodePath = ("deliverables", name, "chapters", number, "at")
            yield from finder.named(mark["at"], at_path, Use.POINT)


class _Finder:
    def __init__(self, shots: Collection[ShotKey], reels: Collection[str]) -> None:
        self._shots, self._reels = shots, reels

    def assembly(self, section: Mapping[str, Any], path: NodePath) -> Iterator[Mention]:
        """Yield what an assembly names: the film's, or a version's."""
        for key in ("order", "omit"):
            for number, text in enumerate(section.get(key, [])):
                yield from self.named(text, (*path, key, number), Use.PART)
        insets = section.get("insert", [])
        if isinstance(insets, dict):
            yield from self._inset(insets, (*path, "insert"))
        else:
            for number, one in enumerate(insets):
                yield from self._inset(one, (*path, "insert", number))
        replaced = section.get("replace", {})
        for key in replaced if isinstance(replaced, dict) else ():
            yield from self.named(key, (*path, "replace", key), Use.PICTURE)

    def _inset(self, inset: Mapping[str, Any], path: NodePath) -> Iterator[Mention]:
        for key, use in (("after", Use.AFTER), ("before", Use.BEFORE), ("play", Use.PART)):
            if key in inset:
                yield from self.named(inset[key], (*path, key), use)

    def named(self, text: str, path: NodePath, use: Use) -> Iterator[Mention]:
        """Yield the shots that a text names; it may name a reel or an inset instead."""
        if "/" not in text or text in self._reels:
            return
        try:
            first, last = shot_keys(text, self._shots)
        except NotationError:
            return
        if first in self._shots and last in self._shots:
            yield Mention(path=path, use=use, first=first, last=last)
