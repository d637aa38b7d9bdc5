"""Speeds can be told in frames, and are such as films were shown at.

A speed is exactly what is written, so 23.976 is 2997/125 and not the rate that it rounds.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from retime.errors import NotationError
from retime.film.notation import SpeedUnit, SpokenRamp, SpokenSpeed
from retime.speedmap.footage import speed_on
from retime.speedmap.model import ShotKind
from retime.speedmap.rules.case import Case, error, warning
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from retime.findings import Finding, TextPlace
    from retime.speedmap.model import Reel, ShotRule, SpeedMap, SpokenPace, Version
    from retime.speedmap.place import Where

__all__ = ["check"]

_SLOWEST, _FASTEST = 8, 40
_ROUNDED: Final = {
    Fraction(text): rate
    for text, rate in (
        ("23.976", "24000/1001"),
        ("23.98", "24000/1001"),
        ("29.97", "30000/1001"),
        ("47.952", "48000/1001"),
        ("59.94", "60000/1001"),
    )
}


class _Said(Struct, frozen=True):
    """A speed, where it is written (a part and steps inside it), and the reels that it is for."""

    spoken: SpokenSpeed
    written: tuple[Where, str]
    reels: tuple[Reel, ...]

    @property
    def place(self) -> TextPlace:
        """Where the speed is written; looked up only for the few that are told."""
        where, step = self.written
        return where.of(step)


def check(case: Case) -> Iterator[Finding]:
    """Find speeds that cannot be told in frames, that look rounded, or that are out of the way."""
    for version in case.map.versions.values():
        for said in _said(case, version):
            yield from _judged(case.map, said)


def _judged(speed_map: SpeedMap, said: _Said) -> Iterator[Finding]:
    spoken, rate = said.spoken, _ROUNDED.get(said.spoken.amount)
    if rate is not None and spoken.unit is SpeedUnit.FPS:
        text = f"{quoted(spoken.text)} is the speed {spoken.amount}"
        yield warning("rounded-speed", said.place, text, f"was {rate} meant?")
    for reel in said.reels:
        try:
            speed = speed_on(speed_map, reel, spoken)
        except NotationError as cause:
            yield error("footage", said.place, cause.text, cause.hint)
            return
        if not _SLOWEST <= speed.fps <= _FASTEST:
            text = f"{quoted(spoken.text)} is {float(speed.fps):.6g} film frames per second"
            hint = f"is that meant? It is not from {_SLOWEST} to {_FASTEST}"
            yield warning("unusual-speed", said.place, text, hint)
            return


def _said(case: Case, version: Version) -> Iterator[_Said]:
    """Return every speed of a version."""
    every = tuple(case.reels.values())
    if version.speed is not None:
        yield from _ends(version.speed, (version.where, "speed"), every)
    for name, pace in version.reels.items():
        here = [case.reels[name]] if name in case.reels else []
        yield from _ends(pace, (version.where.inside("reels"), name), here)
    for rule in version.shots:
        if rule.pace is not None:
            yield from _ends(rule.pace, (rule.where, "speed"), _of_rule(case, rule))
    if version.titles is not None and version.titles.speed is not None:
        titles = {shot.reel for shot in case.map.shots if shot.kind is ShotKind.TITLE}
        here = [reel for reel in every if reel.name in titles]
        yield from _ends(version.titles.speed, (version.titles.where, "speed"), here)


def _of_rule(case: Case, rule: ShotRule) -> list[Reel]:
    """Return the reels that a rule's shots lie on."""
    first, last = case.positions.get(rule.first), case.positions.get(rule.last)
    if first is None or last is None:
        return []
    names = {shot.reel for shot in case.map.shots[first : last + 1]}
    return [reel for reel in case.reels.values() if reel.name in names]


def _ends(pace: SpokenPace, place: tuple[Where, str], reels: Iterable[Reel]) -> Iterator[_Said]:
    """Return a pace's one speed, or the two of a ramp: for the first reel, and for the last."""
    over = tuple(reels)
    if isinstance(pace, SpokenRamp):
        yield _Said(pace.first, place, over[:1])
        yield _Said(pace.last, place, over[-1:])
    else:
        yield _Said(pace, place, over)
