"""A version's rules for shots make way for a new one, so that it holds for every shot it names."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, field

from retime.film.notation import SpokenRamp
from retime.yamldoc.scalars import bracketed

if TYPE_CHECKING:
    from retime.speedmap.manuscript import Manuscript
    from retime.speedmap.model import ShotKey, ShotRule, SpokenPace, Version
    from retime.speedmap.naming import Named
    from retime.yamldoc.tree import NodePath

__all__ = ["write_shot_speed"]


def write_shot_speed(
    script: Manuscript, version: Version, named: Named, pace: SpokenPace, speed: str
) -> None:
    """Write a speed for shots among a version's rules; ``speed`` is the text of ``pace``.

    Raises:
        DocumentError: a rule cannot make way; at its line.
    """
    keys = [shot.key for shot in script.speed_map.shots]
    writing = _Writing(script=script, version=version, named=named, pace=pace, keys=keys)
    for rule in version.shots:
        writing.meet(rule)
    writing.write(speed)


class _Writing(Struct, kw_only=True):
    """One rule while those about it make way.

    ``gone`` are the keys of rules that are taken out, ``cut`` the new keys of those that keep some
    of their shots, ``added`` what else has to be written, and ``same`` the rule for the same shots.
    """

    script: Manuscript
    version: Version
    named: Named
    pace: SpokenPace
    keys: list[ShotKey]
    same: ShotRule | None = None
    gone: list[str] = field(default_factory=list)
    cut: dict[str, str] = field(default_factory=dict)
    added: dict[str, str] = field(default_factory=dict)
    singly: list[ShotRule] = field(default_factory=list)

    @property
    def path(self) -> NodePath:
        return ("versions", self.version.name, "shots")

    def meet(self, rule: ShotRule) -> None:
        """Note what becomes of a rule of the version's."""
        first, last = self.keys.index(rule.first), self.keys.index(rule.last)
        mine = self.named.places
        if last < mine.start or mine.stop <= first:
            return
        if (rule.first, rule.last) == (self.named.first, self.named.last):
            self.same = rule
        elif not self.named.is_run:
            return  # a run about a single shot, which is the nearer
        elif rule.inherited:
            if not rule.is_run and rule.pace is not None:
                self._inherited(rule)
        elif not rule.is_run:
            self._single(rule)
        elif mine.start <= first and last < mine.stop:
            self.gone.append(_key(rule))
        else:
            self._overlapping(rule, first, last)

    def _inherited(self, rule: ShotRule) -> None:
        """Write a single shot's rule that would go before the run once more, with its speed."""
        if isinstance(self.pace, SpokenRamp):
            text = f"shot {rule.first} has a speed of its own, which {self.version.name} inherits"
            hint = "a ramp over several shots cannot take it away"
            raise self.script.text.refuse(rule.where.path, text, hint, key=True)
        self.singly.append(rule)

    def _single(self, rule: ShotRule) -> None:
        """Take a single shot's speed away, and the rule if it says nothing else."""
        if rule.pace is None:
            return
        if rule.limits.given or rule.loop is not None:
            self.script.text.remove((*self.path, _key(rule)), ["speed"])
        else:
            self.gone.append(_key(rule))

    def _overlapping(self, rule: ShotRule, first: int, last: int) -> None:
        """Leave a run the shots that are not named."""
        mine = self.named.places
        if isinstance(rule.pace, SpokenRamp):
            text = f"the ramp over {rule} shares shots with {self.named}, and cannot be cut"
            raise self.script.text.refuse(rule.where.path, text, "change it by hand", key=True)
        ends = [(first, mine.start - 1), (mine.stop, last)]
        pieces = [self._piece(rule, *end) for end in ends if end[0] <= end[1]]
        left = [piece for piece in pieces if piece]
        if not left:
            self.gone.append(_key(rule))
            return
        self.cut[_key(rule)] = left[0]
        self.added |= {piece: self.script.text.one_line(rule.where.path) for piece in left[1:]}

    def _piece(self, rule: ShotRule, first: int, last: int) -> str:
        """Return the key of some shots of a run, empty for one that has a speed of its own."""
        if first < last:
            return f"{self.keys[first]}-{self.keys[last]}"
        key = self.keys[first]
        own = next((one for one in self.version.shots if one.first == one.last == key), None)
        if own is None:
            return str(key)
        if own.pace is None:
            text = f"{rule} would be left with shot {key}, which has a rule of its own already"
            raise self.script.text.refuse(rule.where.path, text, "change it by hand", key=True)
        return ""

    def write(self, speed: str) -> None:
        """Write all that was noted, and the rule itself."""
        text = self.script.text
        self.added |= {str(rule): self._value(rule, speed) for rule in self.singly}
        if not text.has(self.path):
            rules = {str(self.named): self._value(self.same, speed), **self.added}
            text.add(self.path[:-1], "shots", bracketed(rules))
            return
        new = self.same is None or self.same.inherited > 0
        rewritten = self.gone.pop(0) if new and self.gone else None
        text.remove(self.path, self.gone)
        for key, kept in self.cut.items():
            text.set_key((*self.path, key), kept)
        if rewritten is not None:
            text.set_key((*self.path, rewritten), str(self.named))
            text.set_value((*self.path, rewritten), speed)
        elif new:
            text.add(self.path, str(self.named), self._value(self.same, speed))
        elif self.same is not None:
            self._into(self.same, speed)
        for key, raw in self.added.items():
            text.add(self.path, key, raw)

    def _into(self, rule: ShotRule, speed: str) -> None:
        """Write the speed into a rule of the version's own."""
        text, path = self.script.text, (*self.path, _key(rule))
        if text.is_text(path):
            text.set_value(path, speed)
        elif rule.pace is not None:
            text.set_value((*path, "speed"), speed)
        else:
            text.add(path, "speed", speed)

    def _value(self, rule: ShotRule | None, speed: str) -> str:
        """Return a rule's value, with the limits of an inherited one whose place it takes."""
        if rule is None or not (rule.limits.given or rule.loop is not None):
            return speed
        self.script.notes.append(f"what else the inherited rule for {rule} says is kept")
        raw = self.script.text.one_line(rule.where.path, {"speed": speed})
        return raw if rule.pace is not None else f"{{speed: {speed}, {raw[1:]}"


def _key(rule: ShotRule) -> str:
    """Return a rule's key as it is written."""
    return str(rule.where.path[-1])
