"""What differs between two maps, or between two versions: by reels, shots, frames and times.

A comparison is symmetric: with its sides exchanged it says the same of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from msgspec import Struct

from retime.film.clock import clock
from retime.report.comparison_followers import SEVERAL, several_apart
from retime.report.comparison_side import sides_of
from retime.report.differences import Difference, Meant, both, difference, paired, told
from retime.report.version_comparison import VersionPair, pair_of
from retime.speedmap.baked import BakedFrom
from retime.speedmap.footage import gauge_of
from retime.speedmap.model import Deliverable

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from retime.edition.edition import Edition, Making
    from retime.edition.scans import ReelScan
    from retime.light.raster import Framing
    from retime.report.comparison_side import Side
    from retime.speedmap.baked import Baked

__all__ = ["Comparison", "compared"]

_FACTS = ("film", "gauge", "footage", "transfer")
_OF_A_DELIVERABLE = tuple(
    name for name in Deliverable.__struct_fields__ if name not in {"name", "where", *SEVERAL}
)


class Comparison(Struct, frozen=True, kw_only=True):
    """All that differs; the versions are those that do."""

    film: tuple[Difference, ...]
    reels: tuple[Difference, ...]
    shots: tuple[Difference, ...]
    versions: tuple[VersionPair, ...]
    deliverables: tuple[Difference, ...]

    @property
    def alike(self) -> bool:
        """Say whether nothing differs."""
        return not (self.film or self.reels or self.shots or self.versions or self.deliverables)


def compared(left: Edition, right: Edition, versions: tuple[str, str] | None = None) -> Comparison:
    """Return what differs between two editions, all versions of which have timelines.

    Versions and deliverables are matched by name; where two ``versions`` are given these are
    compared, and no deliverables.
    """
    sides = sides_of(left, right)
    if versions is None:
        names = both(left.speed_map.versions, right.speed_map.versions)
        pairs = [pair_of(sides, name, name) for name in names]
    else:
        pairs = [pair_of(sides, *versions)]
    facts = [
        difference("film", name, getattr(left.speed_map, name), getattr(right.speed_map, name))
        for name in _FACTS
    ]
    return Comparison(
        film=tuple(told(facts)),
        reels=tuple(told(_reels(sides))),
        shots=tuple(told(_shots(left, right))),
        versions=tuple(pair for pair in pairs if not pair.alike),
        deliverables=tuple(told(_deliverables(sides))) if versions is None else (),
    )


def _reels(sides: tuple[Side, Side]) -> Iterator[Difference | None]:
    def named(side: Side) -> dict[str, Mapping[str, Any]]:
        film = {reel.name for reel in side.edition.speed_map.reels}
        return {
            scan.reel.name: _reel(side, scan)
            for scan in side.edition.scans
            if scan.reel.name in film or side.scan(scan.reel.name) not in film
        }

    yield from paired((named(sides[0]), named(sides[1])), dict, lambda reel: str(reel["scan"]))
    orders = [tuple(reel.name for reel in side.edition.speed_map.reels) for side in sides]
    if set(orders[0]) == set(orders[1]):
        yield difference("reels", "order", orders[0], orders[1])


def _reel(side: Side, scan: ReelScan) -> dict[str, Any]:
    reel = scan.reel
    return {
        "scan": side.file(reel.scan),
        "first": scan.told(reel.first),
        "last": scan.told(scan.last),
        "missing": reel.missing,
        "gauge": gauge_of(side.edition.speed_map, reel).name,
        "cadence": reel.baked and _cadence(side, reel.baked),
        "framing": reel.framing and _framing(reel.framing),
    }


def _cadence(side: Side, baked: Baked) -> Meant:
    if baked.known is BakedFrom.FILE:
        return side.file(baked.text)
    key = baked.known, baked.runs, baked.in_fields, baked.top_first, baked.start
    return Meant(key, baked.text)


def _framing(framing: Framing) -> str:
    area, aspect = framing.area, framing.sample_aspect
    words = {
        "area": area and f"{area.left},{area.top},{area.width},{area.height}",
        "rotate": framing.rotate or None,
        "flip": framing.flip,
        "sample aspect": aspect and f"{aspect.numerator}:{aspect.denominator}",
    }
    return ", ".join(f"{what} {said}" for what, said in words.items() if said is not None)


def _shots(left: Edition, right: Edition) -> Iterator[Difference | None]:
    def said(shot: Mapping[str, Any]) -> str:
        return f"frames {shot['first']} to {shot['last']}"

    yield from paired((_named_shots(left), _named_shots(right)), dict, said)


def _named_shots(edition: Edition) -> dict[str, Mapping[str, Any]]:
    scans = {scan.reel.name: scan for scan in edition.scans}
    return {
        str(shot.key): {
            "first": scans[shot.reel].told(shot.first),
            "last": scans[shot.reel].told(shot.last),
            "kind": shot.kind,
            "name": shot.title,
        }
        for shot in edition.speed_map.shots
    }


def _deliverables(sides: tuple[Side, Side]) -> Iterator[Difference | None]:
    def named(edition: Edition) -> dict[str, Making]:
        return {making.name: making for making in edition.makings}

    def fields(making: Making) -> Mapping[str, Any]:
        made = {name: getattr(making.deliverable, name) for name in _OF_A_DELIVERABLE}
        plan = making.plan
        return {**made, "output frames": plan.total, "runtime": clock(plan.total_runtime)}

    def said(making: Making) -> str:
        return f"version {making.deliverable.version}"

    makings = named(sides[0].edition), named(sides[1].edition)
    yield from paired(makings, fields, said)
    for name in both(*makings):
        if name in makings[0] and name in makings[1]:
            yield from several_apart(sides, *(each[name].deliverable for each in makings))
