"""What was found in a transfer, in words: one stretch in a line, and all of it in a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.signal.cadence_file import runs_said
from retime.signal.mixtures import Rule
from retime.signal.shown import Kind, Space, speed_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from fractions import Fraction

    from retime.detect.detection import Detection
    from retime.signal.shown import Stretch

__all__ = ["cadence_said", "notes_on", "overall_said", "ratio_said", "remarks", "what_said"]

_KINDS = {
    Kind.NEW: "every picture differs",
    Kind.REPEATS: "whole pictures repeat",
    Kind.FIELDS: "fields repeat",
    Kind.MIXED: "mixed of two film frames",
    Kind.STILL: "one picture stands",
    Kind.IRREGULAR: "not regular",
}
_RULES = {
    Rule.BETWEEN: "evenly between two film frames",
    Rule.NEARLY: "evenly between two film frames, whole where one is near",
    Rule.WINDOW: "the mean of what a picture's time shows",
}
_SPACES = {
    Space.CODES: "of codes",
    Space.LIGHT: "of linear light",
    Space.UNTOLD: "of codes or of light, it cannot be told which",
}
_UNSURE = 0.5


def what_said(stretch: Stretch) -> str:
    """Return what a stretch is."""
    if _is_video(stretch):
        return "every field differs"
    return _KINDS[stretch.kind]


def _is_video(stretch: Stretch) -> bool:
    """Tell whether each field is of a moment of its own, as a video camera takes them."""
    return stretch.kind is Kind.FIELDS and set(stretch.runs) == {1}


def ratio_said(stretch: Stretch, rate: Fraction | None) -> str:
    """Return how much film is in how many pictures, as ``20 in 24``; empty where none repeat.

    It is told for the rate that the file says, its nominal one, if that makes whole film frames.
    """
    if stretch.kind not in {Kind.REPEATS, Kind.FIELDS, Kind.MIXED} or _is_video(stretch):
        return ""
    fields = 2 if stretch.kind is Kind.FIELDS else 1
    ratio = speed_of(stretch) / fields
    unit = " fields" if fields > 1 else ""
    nominal = None if rate is None else round(rate) * fields
    if nominal and (ratio * nominal).denominator == 1:
        return f"{ratio * nominal} in {nominal}{unit}"
    return f"{ratio.numerator} in {ratio.denominator}{unit}"


def cadence_said(stretch: Stretch) -> str:
    """Return a stretch's runs, empty where it has none that come again."""
    if stretch.kind in {Kind.REPEATS, Kind.FIELDS} and not _is_video(stretch):
        return runs_said(stretch.runs)
    return ""


def overall_said(found: Detection) -> str:
    """Return all that was found in a sentence."""
    if all(one.kind is Kind.NEW for one in found.stretches):
        return "every picture differs: nothing to take out"
    if all(_is_video(one) for one in found.stretches):
        return "every field differs: nothing to take out"
    kinds = {one.kind for one in found.stretches}
    if kinds == {Kind.STILL}:
        return "one picture stands: no cadence can be told"
    longest = max(found.stretches, key=lambda one: one.count)
    share = sum(
        one.count
        for one in found.stretches
        if one.kind is longest.kind and speed_of(one) == speed_of(longest)
    )
    ratio = ratio_said(longest, found.rate_said)
    name = f"{ratio}, {what_said(longest)}" if ratio else what_said(longest)
    breaks = len(found.stretches) - 1
    how = "throughout" if not breaks else f"in {share:,} of {found.frames:,} pictures"
    broken = "" if not breaks else f", {breaks} break{'' if breaks == 1 else 's'}"
    return f"{name}, {how}{broken}"


def notes_on(stretch: Stretch) -> Iterator[str]:
    """Yield what else there is to say of a stretch."""
    if stretch.phase:
        unit = "field" if stretch.kind is Kind.FIELDS else "picture"
        plural = "" if stretch.phase == 1 else "s"
        yield f"begins {stretch.phase} {unit}{plural} into its first film frame"
    if stretch.top_first is not None:
        yield "upper field first" if stretch.top_first else "lower field first"
    if stretch.mixing is not None:
        yield f"{_RULES[stretch.mixing.rule]}, {_SPACES[stretch.mixing.space]}"
    new = sum(one.is_new for one in stretch.odd)
    same = len(stretch.odd) - new
    if new:
        yield f"{new} more new picture{'' if new == 1 else 's'}"
    if same:
        yield f"{same} more repeat{'' if same == 1 else 's'}"
    if stretch.confidence < _UNSURE:
        yield "not sure"


def remarks(found: Detection) -> Iterator[str]:
    """Yield what concerns the whole transfer, or parts of it that are no stretches."""
    for one in found.on_film:
        runs = runs_said(one.runs)
        yield (
            f"printed on film more than once: film frames {runs} times in turn, pictures "
            f"{one.first} to {one.last}; the repeats have grain and weave of their own"
        )
    for first, last in found.stills:
        yield f"hardly anything moves from {first} to {last}: no cadence can be told by it"
    for leap in found.leaps:
        places = ", ".join(map(str, leap.places[:6])) + (", ..." if len(leap.places) > 6 else "")  # noqa: PLR2004 - a few
        if leap.every is not None:
            yield f"a film frame seems to be left out every {leap.every} pictures, before {places}"
        else:
            yield f"perhaps a film frame is left out before {places}; that is weak evidence"
    yield from _order(found)


def _order(found: Detection) -> Iterator[str]:
    """Yield that the file says another order of fields than its pictures do, where it does."""
    said = found.order_said
    orders = {one.top_first for one in found.stretches if one.top_first is not None}
    # What is coded first is another matter, and Matroska's readers do not agree about it.
    if not orders or said is None or "coded" in said:
        return
    if orders == {True} and not said.startswith("top-first"):
        yield f"the upper field comes first, though the file says {said}"
    if orders == {False} and not said.startswith("bottom-first"):
        yield f"the lower field comes first, though the file says {said}"
