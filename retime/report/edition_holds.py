"""What of a deliverable is held, put in or dropped, shot by shot, as rows of a page."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple

from retime.plan.timeline import Shows
from retime.report.numbers import decimal

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from retime.plan.plan import Plan
    from retime.report.stretches import Passage

__all__ = ["Drop", "Hold", "drops_of", "holds_of"]

_SHOWN = {"still": "a hole, a picture beside it held", "black": "a hole, black"}


class Hold(NamedTuple):
    """A passage that no speed rules, and how many seconds it lasts."""

    where: str
    what: str
    frames: str
    seconds: str
    outputs: str


class Drop(NamedTuple):
    """A shot some of whose film frames are not shown, and how many."""

    where: str
    frames: int


def holds_of(
    plan: Plan, stretches: Iterable[Mapping[str, Any]], passages: Iterable[Passage]
) -> Iterator[Hold]:
    """Yield the holds, loops, holes and insets among a report's stretches."""
    for told, passage in zip(stretches, passages, strict=True):
        kind = next((one for one in ("hold", "loop", "hole", "inset") if one in told), None)
        if kind is None:
            continue
        lasts = told[kind] if isinstance(told[kind], str) else told[kind]["seconds"]
        yield Hold(
            where=plan.timeline.unit_name(passage.stretch.unit),
            what=_what(kind, told[kind]),
            frames=_span(told["first"], told["last"]),
            seconds=decimal(Fraction(lasts), 3),
            outputs=_span(told["output_first"], told["output_last"]),
        )


def _what(kind: str, told: Any) -> str:
    """Say what it is that is told under such a key."""
    match kind:
        case "hold":
            return "held"
        case "loop":
            return "plays back and forth"
        case "hole":
            return _SHOWN.get(told["shows"], f"a hole: {told['shows']}")
        case _:
            return f"put in: {told['shows']}"


def _span(first: int | None, last: int | None) -> str:
    if first is None or last is None:
        return ""
    return f"{first:,}" if first == last else f"{first:,} to {last:,}"


def drops_of(plan: Plan) -> Iterator[Drop]:
    """Yield the shots of which film frames are dropped, in playing order; of a blend none."""
    if plan.window is not None:
        return
    timeline = plan.timeline
    looped = {one.unit for one in timeline.stretches if one.again}
    shown = dict.fromkeys(range(len(timeline.units)), 0)
    seen: set[tuple[int, int | None]] = set()
    for piece in plan.pieces:
        stretch = timeline.stretches[piece.stretch]
        if stretch.unit in looped and stretch.shows is Shows.FILM:
            slots = piece.rule.runs(piece.count)
            seen.update((stretch.unit, stretch.frame(slot)) for slot, _ in slots)
        elif stretch.fresh:
            shown[stretch.unit] += piece.rule.distinct(piece.count) - piece.continues
    for unit, _ in seen:
        shown[unit] += 1
    played = dict.fromkeys(shown, 0)
    for stretch in timeline.stretches:
        if stretch.fresh:
            played[stretch.unit] += stretch.count
    for unit, frames in played.items():
        if frames > shown[unit]:
            yield Drop(timeline.unit_name(unit), frames - shown[unit])
