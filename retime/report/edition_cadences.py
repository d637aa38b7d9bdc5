"""The speeds that most of a deliverable runs at, each with its cadence in words and as a strip."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from retime.report.edition_strips import strip_of
from retime.report.numbers import decimal
from retime.report.words import runs_said

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from retime.edition.edition import Making
    from retime.report.edition_strips import Strip
    from retime.report.stretches import Passage

__all__ = ["Cadences", "cadences_of"]

_MOST = 4  # speeds that are drawn


class _Group(Struct):
    """The stretches of one speed: the longest of them, and how many film frames all have."""

    told: Mapping[str, Any]
    passage: Passage
    frames: int = 0
    longest: int = 0


class Told(Struct, frozen=True, kw_only=True):
    """One speed of a deliverable; ``cadence`` is in words, ``begins`` says what the strip shows."""

    speed: str
    effective: str
    cadence: str
    frames: int
    begins: str
    strip: Strip
    label: str


class Cadences(Struct, frozen=True, kw_only=True):
    """The speeds that most film frames run at, and how many more there are, of how many frames."""

    shown: list[Told]
    more: int
    more_frames: int


def cadences_of(
    making: Making, stretches: Sequence[Mapping[str, Any]], passages: Sequence[Passage]
) -> Cadences:
    """Return a deliverable's cadences from the stretches that its report tells."""
    groups: dict[str, _Group] = {}
    for told, passage in zip(stretches, passages, strict=True):
        if told["speed"] is None or passage.first is None or passage.last is None:
            continue
        group = groups.setdefault(str(told["speed"]), _Group(told, passage))
        frames = abs(passage.last - passage.first) + 1
        group.frames += frames
        if frames > group.longest:
            group.told, group.passage, group.longest = told, passage, frames
    ordered = sorted(groups.values(), key=lambda group: -group.frames)
    shown = [one for group in ordered[:_MOST] if (one := _told(making, group)) is not None]
    more = ordered[_MOST:]
    return Cadences(shown=shown, more=len(more), more_frames=sum(group.frames for group in more))


def _told(making: Making, group: _Group) -> Told | None:
    told = group.told
    strip = strip_of(making.plan, group.passage, told.get("output_per_cycle"), making.told)
    if strip is None:
        return None
    return Told(
        speed=_speed(told["speed"]),
        effective=_speed(told["effective_speed"]),
        cadence=_cadence(making, told),
        frames=group.frames,
        begins=_begins(told, strip),
        strip=strip,
        label=_label(strip),
    )


def _speed(told: str | Mapping[str, str]) -> str:
    if isinstance(told, str):
        return f"{_short(told)} fps"
    return f"{_short(told['from'])} to {_short(told['to'])} fps"


def _short(fps: str) -> str:
    """Return an exact text to at most three decimals."""
    told = decimal(Fraction(fps), 3)
    return told.rstrip("0").rstrip(".") if "." in told else told


def _cadence(making: Making, told: Mapping[str, Any]) -> str:
    plan = making.plan
    if plan.window is not None:
        return "blended"
    if isinstance(told["speed"], dict):
        return "a ramp, without a cycle"
    runs = told["cadence"] or told.get("nearest")
    if runs is None:
        return "no cadence, as too many film frames are dropped"
    words = f"cadence {runs_said([int(run) for run in runs.split(':')])}"
    noun = {1: "output frames", 2: "fields"}.get(plan.carry.per_frame, "pictures, before fields")
    frames, outputs = told["film_frames"], told["output_per_cycle"]
    words += f", {frames} film frame{'' if frames == 1 else 's'} in {outputs} {noun}"
    if "slips_every" in told:
        slips = decimal(Fraction(told["slips_every"]), 1)
        return f"{words.replace('cadence', 'near cadence', 1)}, and a slip every {slips} of them"
    return words


def _begins(told: Mapping[str, Any], strip: Strip) -> str:
    shown = len(strip.cells)
    if strip.whole:
        size = "one whole cycle" if shown > 1 else "a cycle of one"
    elif strip.cycle is None:
        size = f"the first {shown} output frames"
    else:
        size = f"the first {shown} of the {strip.cycle:,} output frames of a cycle"
    return f"Reel {told['reel']} from film frame {told['first']:,}: {size}."


def _label(strip: Strip) -> str:
    """Return what a strip shows as a text, output frame by output frame."""
    told = []
    for cell in strip.cells:
        faces = []
        for face in cell.faces:
            seen = " and ".join(
                one.name if len(face.seen) == 1 else f"{one.weight} of {one.name}"
                for one in face.seen
            )
            faces.append(f"{seen} again" if face.again else seen)
        told.append(f"{cell.output}: {', then '.join(faces)}")
    return f"Film frames by output frame. {'; '.join(told)}."
