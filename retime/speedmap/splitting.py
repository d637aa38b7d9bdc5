"""A shot of a map made two, and all that names it carried along.

What names the shot as a part of the film names both; the place after it is after the second, and
its beginning that of the first. A speed of its own becomes that of both, and a ramp runs over both
as one. A picture in its place cannot stand for two, and is refused.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, field

from retime.errors import CommandError, DocumentError
from retime.film.notation import SpokenRamp
from retime.findings import Finding
from retime.speedmap.fields import item_name
from retime.speedmap.mentions import Mention, Use, mentions
from retime.speedmap.model import ShotKey, ShotKind
from retime.speedmap.naming import named_shots
from retime.speedmap.shot_files import copy_shot, rewrite_shot

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.findings import Place
    from retime.speedmap.manuscript import Edited, Manuscript
    from retime.speedmap.model import Shot, ShotRule, SpeedMap, Version

__all__ = ["split_shot"]

_RULE = "editing"
_PARTS = 2


def split_shot(
    script: Manuscript, text: str, at: int, names: Sequence[str] | None = None
) -> Edited:
    """Make a shot two, of which the second begins with frame ``at`` of the scan.

    ``names`` are those of the two; ``3A`` and ``3B`` for a shot ``3`` where there are none.

    Raises:
        CommandError, NotationError: there is no such shot, or no such frame in it.
        DocumentError: something that names it cannot be carried; all places are told.
    """
    named = named_shots(script.speed_map, text)
    if named.is_run:
        raise CommandError(f"{text} are several shots", "name one, such as 2/3")
    shot = script.speed_map.shots[named.places.start]
    if not shot.first < at <= shot.last:
        what = f"shot {shot.key} cannot be split before frame {at}"
        if shot.first == shot.last:
            raise CommandError(what, "it has one frame only")
        raise CommandError(what, f"name a frame from {shot.first + 1} to {shot.last}")
    first, second = _new_names(script.speed_map, shot, names)
    _Splitting(script=script, shot=shot, first=first, second=second).carry()
    values = {"last": str(at - 1)} | ({"shot": first.shot} if first != shot.key else {})
    rewrite_shot(script, named.places.start, values)
    copy_shot(script, named.places.start, {"first": str(at), "shot": second.shot})
    return script.finished(lambda _version, _run: False, limits=False)


def _new_names(
    speed_map: SpeedMap, shot: Shot, names: Sequence[str] | None
) -> tuple[ShotKey, ShotKey]:
    given = names is not None
    told = list(names) if names is not None else [f"{shot.name}A", f"{shot.name}B"]
    if len(told) != _PARTS or not all(told) or told[0] == told[1]:
        raise CommandError("a split shot takes two names that differ", "write --names 3A,3B")
    first, second = (ShotKey(shot.reel, item_name(name)) for name in told)
    others = {one.key for one in speed_map.shots} - {shot.key}
    for key in (first, second):
        if key in others:
            hint = "choose other names" if given else "choose names: --names 3X,3Y"
            raise CommandError(f"there is a shot {key} already", hint)
    return first, second


class _Splitting(Struct, kw_only=True):
    """A shot while it is made two; ``findings`` are what cannot be carried."""

    script: Manuscript
    shot: Shot
    first: ShotKey
    second: ShotKey
    findings: list[Finding] = field(default_factory=list)

    def carry(self) -> None:
        """Carry all that names the shot."""
        for version in self.script.speed_map.versions.values():
            for rule in version.shots:
                if not rule.inherited and self.shot.key in {rule.first, rule.last}:
                    self._carry_rule(version, rule)
            self._look_at_picture(version)
        for mention in mentions(self.script.speed_map):
            if mention.use in {Use.RULE, Use.PICTURE}:
                continue
            if self.shot.key in {mention.first, mention.last}:
                self.script.text.set_value(mention.path, self._renamed(mention))
        if self.findings:
            raise DocumentError(dict.fromkeys(self.findings))

    def _refuse(self, place: Place, text: str, hint: str) -> None:
        self.findings.append(Finding(place=place, rule=_RULE, text=text, hint=hint))

    def _renamed(self, mention: Mention) -> str:
        single = mention.first == mention.last
        match mention.use:
            case Use.AFTER if single:
                return str(self.second)
            case Use.BEFORE | Use.POINT if single:
                return str(self.first)
            case _:
                return self._run(mention.first, mention.last)

    def _run(self, first: ShotKey, last: ShotKey) -> str:
        """Return a run as it is named once the shot is two."""
        begin = self.first if first == self.shot.key else first
        end = self.second if last == self.shot.key else last
        return f"{begin}-{end}"

    def _look_at_picture(self, version: Version) -> None:
        replaced = version.assembly.replace if version.assembly else {}
        one = replaced.get(self.shot.key)
        if one is not None:
            text = f"a picture stands in the place of shot {self.shot.key}"
            self._refuse(one.where.of(key=True), text, "take it out first")

    def _carry_rule(self, version: Version, rule: ShotRule) -> None:
        """Carry a rule of a version's own that names the shot."""
        text, path = self.script.text, rule.where.path
        if rule.is_run:
            text.set_key(path, self._run(rule.first, rule.last))
            return
        if isinstance(rule.pace, SpokenRamp):
            self._carry_ramp(version, rule)
            return
        if rule.limits.given or rule.loop is not None:
            note = f"in version {version.name} all of the rule for {rule} holds for each of the two"
            self.script.notes.append(note)
        text.set_key(path, str(self.first))
        text.add(path[:-1], str(self.second), text.one_line(path), behind=str(path[-1]))

    def _carry_ramp(self, version: Version, rule: ShotRule) -> None:
        """Have a ramp of the shot's own run over both, where no other rule would go before it."""
        titled = version.titles is not None and version.titles.speed is not None
        reasons = {
            "a run has no limits": rule.limits.given or rule.loop is not None,
            "the rule for titles would go before it": titled and self.shot.kind is ShotKind.TITLE,
            "another run holds here too": any(
                self._covers(one) for one in version.shots if one.is_run
            ),
        }
        for reason, holds in reasons.items():
            if holds:
                text = f"the ramp of shot {rule} in version {version.name} cannot run over two: "
                self._refuse(rule.where.of(key=True), text + reason, "change it by hand")
                return
        self.script.text.set_key(rule.where.path, f"{self.first}-{self.second}")

    def _covers(self, rule: ShotRule) -> bool:
        places = self.script.places
        return places[rule.first] <= places[self.shot.key] <= places[rule.last]
