"""Shots of a map made one, and all that names them carried along.

What names all of them names the new shot, and so does what names the edge of them that it is
about: the place after their last, the beginning of their first. A rule can be carried where it is
the same for each of them. Everything else is refused, with all its places.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct, field

from retime.errors import CommandError, DocumentError
from retime.film.notation import SpokenRamp
from retime.findings import Finding
from retime.speedmap.fields import item_name
from retime.speedmap.mentions import Mention, Use, mentions
from retime.speedmap.model import ShotKey
from retime.speedmap.naming import named_shots
from retime.speedmap.shot_files import remove_shots, rewrite_shot

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Place
    from retime.speedmap.manuscript import Edited, Manuscript
    from retime.speedmap.model import Shot, ShotRule, SpokenPace, Version
    from retime.speedmap.naming import Named

__all__ = ["merge_shots"]

_RULE = "editing"


def merge_shots(script: Manuscript, shots: str, name: str | None = None) -> Edited:
    """Make a run of shots one, named like its first unless ``name`` says otherwise.

    Raises:
        CommandError, NotationError: there is no such run, or its shots cannot be one.
        DocumentError: something that names them cannot be carried; all places are told.
    """
    named = named_shots(script.speed_map, shots)
    if not named.is_run:
        raise CommandError(f"{shots} is one shot already", "name a run, such as 2/3-2/5")
    listed = [script.speed_map.shots[place] for place in named.places]
    new = ShotKey(listed[0].reel, listed[0].name if name is None else item_name(name))
    _fit_together(script, listed, new)
    merging = _Merging(script=script, named=named, listed=listed, new=new)
    merging.carry()
    values = {"last": str(listed[-1].last)}
    if new != listed[0].key:
        values["shot"] = new.shot
    rewrite_shot(script, named.places.start, values)
    remove_shots(script, named.places[1:])
    return script.finished(lambda _version, _run: False, limits=False)


def _fit_together(script: Manuscript, listed: list[Shot], new: ShotKey) -> None:
    for before, after in pairwise(listed):
        if before.reel != after.reel:
            raise CommandError(f"shots {before.key} and {after.key} are on two reels")
        if before.last + 1 != after.first:
            gap = f"frames {before.last + 1} to {after.first - 1}"
            text = f"between shots {before.key} and {after.key} are {gap}, which are in no shot"
            raise CommandError(text, "put them into one of the two first")
        if before.kind is not after.kind:
            text = f"shot {before.key} is of kind {before.kind}, and {after.key} of {after.kind}"
            raise CommandError(text, "shots of two kinds are not one")
    inside = {shot.key for shot in listed}
    if any(shot.key == new and shot.key not in inside for shot in script.speed_map.shots):
        raise CommandError(f"there is a shot {new} already", "choose another name")


class _Merging(Struct, kw_only=True):
    """Shots while they are made one; ``findings`` are what cannot be carried."""

    script: Manuscript
    named: Named
    listed: list[Shot]
    new: ShotKey
    findings: list[Finding] = field(default_factory=list)

    def carry(self) -> None:
        """Carry all that names the shots."""
        for version in self.script.speed_map.versions.values():
            self._carry_rules(version)
            self._look_at_pictures(version)
        for mention in mentions(self.script.speed_map):
            if mention.use not in {Use.RULE, Use.PICTURE}:
                self._carry_mention(mention)
        if self.findings:
            raise DocumentError(dict.fromkeys(self.findings))

    def _refuse(self, place: Place, text: str, hint: str) -> None:
        self.findings.append(Finding(place=place, rule=_RULE, text=text, hint=hint))

    def _carry_mention(self, mention: Mention) -> None:
        first, last = self._reach(mention.first, mention.last)
        mine = self.named.places
        if last < mine.start or mine.stop <= first:
            return
        whole = first <= mine.start and mine.stop - 1 <= last
        carried = {
            Use.PART: whole,
            Use.AFTER: last not in mine or last == mine.stop - 1,
            Use.BEFORE: first not in mine or first == mine.start,
            Use.POINT: first == mine.start,
        }[mention.use]
        if carried:
            self.script.text.set_value(mention.path, self._renamed(mention.first, mention.last))
            return
        place = self.script.speed_map.where.of(*mention.path)
        text = f"this names {mention.use}, for some of the shots that are to be one"
        self._refuse(place, text, "name all of them, or none")

    def _reach(self, first: ShotKey, last: ShotKey) -> tuple[int, int]:
        places = self.script.places
        return places[first], places[last]

    def _renamed(self, first: ShotKey, last: ShotKey) -> str:
        """Return shots as they are named once the run is one."""
        mine, places = self.named.places, self.script.places
        ends = [self.new if places[key] in mine else key for key in (first, last)]
        return str(ends[0]) if ends[0] == ends[1] else f"{ends[0]}-{ends[1]}"

    def _look_at_pictures(self, version: Version) -> None:
        """Refuse a picture in the place of one of the shots."""
        inside = {shot.key for shot in self.listed}
        replaced = version.assembly.replace if version.assembly else {}
        for key, one in replaced.items():
            if key in inside:
                text = f"a picture stands in the place of shot {key}"
                self._refuse(one.where.of(key=True), text, "take it out first")

    def _carry_rules(self, version: Version) -> None:
        """Carry a version's own rules; what it inherits is carried where it is written."""
        own = [rule for rule in version.shots if not rule.inherited]
        for rule in own:
            if rule.is_run:
                self._carry_run(version, rule)
        singles = {rule.first: rule for rule in own if not rule.is_run}
        found = [singles.get(shot.key) for shot in self.listed]
        rules = [rule for rule in found if rule is not None]
        if not rules:
            return
        if len({_meant(rule) for rule in found}) > 1 or isinstance(rules[0].pace, SpokenRamp):
            for rule in rules:
                text = f"the rule for {rule} in version {version.name} does not hold for "
                text += "all of the shots that are to be one"
                if isinstance(rule.pace, SpokenRamp):
                    text = f"a ramp of shot {rule}'s own would run otherwise over all of them"
                self._refuse(rule.where.of(key=True), text, "give each the same speed first")
            return
        if rules[0].limits.given:
            note = f"in version {version.name} the limits of {rules[0]} hold for the whole now"
            self.script.notes.append(note)
        path = ("versions", version.name, "shots")
        keep, *gone = (str(rule.where.path[-1]) for rule in rules)
        self.script.text.set_key((*path, keep), str(self.new))
        self.script.text.remove(path, gone)

    def _carry_run(self, version: Version, rule: ShotRule) -> None:
        first, last = self._reach(rule.first, rule.last)
        mine = self.named.places
        if last < mine.start or mine.stop <= first:
            return
        if not (first <= mine.start and mine.stop - 1 <= last):
            text = f"the rule for {rule} in version {version.name} holds for some of the shots "
            text += "that are to be one"
            self._refuse(rule.where.of(key=True), text, "have it hold for all of them, or none")
        elif first in mine or last in mine:
            renamed = self._renamed(rule.first, rule.last)
            self.script.text.set_key(rule.where.path, renamed)


def _meant(rule: ShotRule | None) -> tuple[object, ...] | None:
    """Return what a rule decides, however it is written; None where there is none."""
    if rule is None:
        return None
    return (*_pace(rule.pace), rule.limits, rule.loop)


def _pace(pace: SpokenPace | None) -> Iterator[object]:
    ends = (pace.first, pace.last) if isinstance(pace, SpokenRamp) else (pace,)
    for one in ends:
        yield None if one is None else (one.amount, one.unit)
