"""What a version takes from another: ``like: restrained``, and beside it only what changes.

An heir has all that the version it is like has, and what it writes itself is nearer:

- Of ``speed``, ``runtime``, ``runtime of`` and ``meet`` a version has one. An heir that writes any
  of them has that one, and none of the other version's.
- ``reels`` goes reel by reel: the heir's speed for a reel takes the place of the inherited one.
- ``shots`` goes rule by rule. A rule for the same shot, or for the same run, takes the place of
  the inherited one as a whole. Where a run overlaps an inherited run that is not the same, the
  heir's holds for the shots it names, and the inherited one for the rest of its own; a ramp is
  still counted over all the frames that it was written for.
- ``titles`` goes key by key, but ``for`` drives out an inherited ``at least`` and ``at most``,
  and either of them an inherited ``for``.
- ``order``, ``omit``, ``insert`` and ``replace`` each take the place of the inherited one as a
  whole; what is written for the film lies under the outcome, as ever. ``omit: []`` leaves nothing
  of what was inherited.

What comes of it is a version as if it had been written out, and only then it is asked which rule
is nearest to a frame. So a rule for a single shot goes before one for a run, and a rule for a reel
before the version's speed, whichever of them are inherited.

Whatever is wrong or odd in an inherited rule is told once, where it is written.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, field
from msgspec.structs import replace

from retime.findings import Finding
from retime.speedmap.assembly import Assembly
from retime.speedmap.model import Limits, ShotRule, TitleRule, Version
from retime.speedmap.place import Where
from retime.yamldoc.quoting import listed, quoted, suggestion

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping

    from retime.findings import TextPlace
    from retime.yamldoc.tree import NodePath, Tree

__all__ = ["MOST_FOREBEARS", "Family", "family_of", "heir"]

MOST_FOREBEARS = 50
"""So many versions may stand one behind the other."""

_RULE = "inheritance"
_SPEEDS = ("speed", "runtime", "runtime_of", "meet")
_BY_KEY = {"reels", "shots", "titles"}
_OF_A_VERSION = 2  # steps to a version, and one more to a key of it


class Family(Struct, frozen=True, kw_only=True):
    """Who is like whom: by a version's name its own and those of its forebears, nearest first."""

    tree: Tree
    lines: Mapping[str, tuple[str, ...]]
    findings: tuple[Finding, ...] = ()

    def parent(self, name: str) -> str | None:
        """Return the version that another is like, if it is like one."""
        line = self.lines[name]
        return line[1] if len(line) > 1 else None

    def elders_first(self) -> list[str]:
        """Return all names, each after that of the version it is like."""
        return sorted(self.lines, key=lambda name: len(self.lines[name]))

    def where(self, name: str) -> Where:
        """Return where a version stands; what it inherits stands where that is written."""
        written = _Written(tree=self.tree, line=self.lines[name])
        return Where(written, ("versions", name))


class _Written(Struct, frozen=True, kw_only=True):
    """A version as a document: a path leads to the nearest of its line that writes its key."""

    tree: Tree
    line: tuple[str, ...]

    def place(self, path: NodePath, *, key: bool = False) -> TextPlace:
        if len(path) > _OF_A_VERSION:
            deep = _OF_A_VERSION + (2 if path[_OF_A_VERSION] in _BY_KEY else 1)
            for name in self.line:
                here = ("versions", name, *path[_OF_A_VERSION:])
                if self.tree.has(here[:deep]):
                    return self.tree.place(here, key=key)
        return self.tree.place(path, key=key)


def family_of(likes: Mapping[str, str | None], tree: Tree, *, whole: bool) -> Family:
    """Return who is like whom; a version that cannot be like another is told and left by itself.

    ``likes`` has every version's ``like`` by its name. What is not there is told of a ``whole``
    map alone.
    """
    reckoning = _Reckoning(likes=likes, tree=tree, whole=whole)
    for name in likes:
        reckoning.follow(name)
    return Family(tree=tree, lines=reckoning.lines, findings=tuple(reckoning.findings))


class _Reckoning(Struct, kw_only=True):
    """The lines of a family as they are followed."""

    likes: Mapping[str, str | None]
    tree: Tree
    whole: bool
    lines: dict[str, tuple[str, ...]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def follow(self, name: str) -> None:
        """Follow a version to the first that it is like, and note the line of all between."""
        behind: list[str] = []
        here: str | None = name
        while here is not None and here not in self.lines:
            if here in behind:
                self._circle(behind[behind.index(here) :])
                behind = behind[: behind.index(here)]
                break
            behind.append(here)
            here = self._named(here)
        for one in reversed(behind):
            like = self.likes[one]
            line = self.lines.get(like, ()) if like is not None else ()
            if len(line) > MOST_FOREBEARS:
                text = f"{quoted(one)} has more than {MOST_FOREBEARS} versions before it"
                self._tell(one, text, "write some of them out")
                line = ()
            self.lines[one] = (one, *line)

    def _named(self, name: str) -> str | None:
        """Return the version that another is said to be like, once it is known to be there."""
        like = self.likes[name]
        if like is None or like in self.likes:
            return like
        if self.whole:
            text = f"there is no version {quoted(like)}"
            self._tell(name, text, suggestion(like, self.likes))
        return None

    def _circle(self, names: list[str]) -> None:
        for at, name in enumerate(names):
            others = [*names[at + 1 :], *names[:at]]
            way = f", by way of {listed(quoted(one) for one in others)}" if others else ""
            self._tell(name, f"the version {quoted(name)} is like itself{way}", "write one out")
            self.lines[name] = (name,)

    def _tell(self, name: str, text: str, hint: str) -> None:
        place = self.tree.place(("versions", name, "like"))
        self.findings.append(Finding(place=place, rule=_RULE, text=text, hint=hint))


def heir(own: Version, written: Collection[str], elder: Version, where: Where) -> Version:
    """Return a version with what it inherits from ``elder``, which stands at ``where`` then.

    ``written`` are the names of the keys that it writes itself. The assemblies are those that the
    versions write, without the film's.
    """
    tempo = own if any(name in written for name in _SPEEDS) else elder
    return replace(
        own,
        speed=tempo.speed,
        runtime=tempo.runtime,
        runtime_of=tempo.runtime_of,
        meet=tempo.meet,
        reels={**elder.reels, **own.reels},
        shots=tuple(_rules(own, elder)),
        titles=_titles(own.titles, elder.titles, where.inside("titles")),
        assembly=_assembly(own.assembly or Assembly(), written, elder.assembly or Assembly()),
        where=where,
    )


def _rules(own: Version, elder: Version) -> Iterator[ShotRule]:
    """Yield inherited rules and then the version's own, which hold where both are for a shot."""
    mine = {(rule.first, rule.last) for rule in own.shots}
    for rule in elder.shots:
        if (rule.first, rule.last) not in mine:
            yield replace(rule, inherited=rule.inherited + 1)
    yield from own.shots


def _titles(own: TitleRule | None, elder: TitleRule | None, where: Where) -> TitleRule | None:
    if own is None or elder is None:
        only = own or elder
        return only and replace(only, where=where)
    return TitleRule(
        speed=own.speed or elder.speed,
        limits=_limits(own.limits, elder.limits),
        loop=elder.loop if own.loop is None else own.loop,
        where=where,
    )


def _limits(own: Limits, elder: Limits) -> Limits:
    if own.exactly is not None:
        return own
    if not own.given:
        return elder
    return Limits(
        at_least=elder.at_least if own.at_least is None else own.at_least,
        at_most=elder.at_most if own.at_most is None else own.at_most,
    )


def _assembly(own: Assembly, written: Collection[str], elder: Assembly) -> Assembly:
    return Assembly(
        order=own.order if "order" in written else elder.order,
        omit=own.omit if "omit" in written else elder.omit,
        insert=own.insert if "insert" in written else elder.insert,
        replace=own.replace if "replace" in written else elder.replace,
    )
