"""What is odd about evidence that could be read, and stops nothing."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from retime.errors import NotationError
from retime.evidence.lengths import whole_of
from retime.evidence.model import Sense
from retime.evidence.support import FASTEST, SLOWEST
from retime.film.gauge import Footage, frames_per_metre
from retime.findings import Finding, Severity
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from fractions import Fraction

    from retime.evidence.measures import Measures
    from retime.evidence.model import Item
    from retime.evidence.quantity import Quantity
    from retime.findings import TextPlace
    from retime.speedmap.model import SpeedMap

__all__ = ["about_items", "about_length", "about_metres"]


def about_items(items: Sequence[Item]) -> Iterator[Finding]:
    """Find items that say nothing, and groups of one."""
    members = Counter(item.group for item in items)
    for item in items:
        if not item.trust:
            place = item.where.of("trust")
            yield _remark("trust", place, f"{item.id} has no trust, and so says nothing")
        if item.group is not None and members[item.group] == 1:
            what = f"{item.id} is alone in the group {quoted(item.group)}"
            yield _remark("groups", item.where.of("group"), what, "a group joins copies")
        for one in item.implied:
            if not SLOWEST <= one.speed.value <= FASTEST:
                sense = "" if one.sense is Sense.NEAR else f" {one.sense}"
                part = f" by its {one.part}" if one.part else ""
                what = f"{item.id} implies{sense} {_short(one.speed.value)} fps{part}"
                what += f", outside the {SLOWEST:g} to {FASTEST:g} that are weighed"
                yield _remark("span", item.where.of(), what, "is a length or a unit amiss?")


def about_metres(told: Iterable[tuple[Measures, TextPlace]]) -> Iterator[Finding]:
    """Tell once for each gauge and convention by which metres were turned into frames."""
    seen: set[Measures] = set()
    for measures, place in told:
        if measures in seen or measures.footage is None:
            continue
        seen.add(measures)
        other = Footage.PITCH if measures.footage is Footage.NOMINAL else Footage.NOMINAL
        taken, left = (
            frames_per_metre(measures.gauge, footage) for footage in (measures.footage, other)
        )
        if taken == left:
            continue
        what = f"a metre of {measures.gauge.name} is taken for {_short(taken)} frames"
        what += f" (footage: {measures.footage})"
        yield _remark("metres", place, what, f"footage: {other} makes it {_short(left)}")


def about_length(
    stated: Quantity, speed_map: SpeedMap | None, place: TextPlace
) -> Iterator[Finding]:
    """Tell where the print's length is not that of the map's reels, as far as that is known."""
    if speed_map is None:
        return
    try:
        mapped = whole_of(speed_map)
    except NotationError:
        return
    if not stated.low <= mapped <= stated.high:
        what = f"the print's length is {_short(stated.value)} frames, and the map's reels have "
        hint = "length is that of the print that was scanned; a document may tell its own"
        yield _remark("length", place, f"{what}{_short(mapped)}", hint)


def _remark(rule: str, place: TextPlace, text: str, hint: str = "") -> Finding:
    return Finding(place=place, rule=rule, text=text, hint=hint, severity=Severity.WARNING)


def _short(figure: Fraction) -> str:
    """Return a figure in at most three decimals."""
    return f"{float(figure):.3f}".rstrip("0").rstrip(".")
