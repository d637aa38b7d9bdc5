"""A file's rate, length and labels held against the plan."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.check.fact_desk import Desk
    from retime.findings import Finding
    from retime.second.facts import NumberedFacts, VideoFacts

__all__ = ["findings_of_time"]

_ALIKE = Fraction(2, 1_000_000)
"""Rates no further apart are one: nanoseconds and single precision keep no more."""
_BEGIN_WITH_ZERO = {"mkv", "mov", "mp4", "mxf"}
_LABELLED = {"mkv", "mov", "mp4", "mxf"}
_NO_LABEL = "00:00:00:00"
_TOLD = 3


def findings_of_time(desk: Desk) -> Iterator[Finding]:
    """Yield what is wrong with when pictures are shown, how many there are, and their labels."""
    video, numbered = desk.facts.video, desk.facts.numbered
    if numbered is not None:
        yield from _numbers(desk, numbered)
    if video is None:
        return
    yield from _rates(desk, video)
    if numbered is None:
        yield from _length(desk, video)
    yield from _labels(desk, video)


def _alike(one: Fraction, other: Fraction) -> bool:
    return abs(one - other) <= _ALIKE * other


def _rates(desk: Desk, video: VideoFacts) -> Iterator[Finding]:
    planned = desk.rate
    if desk.facts.numbered is not None:
        told = {"its files' headers say": video.rate, "about.json says": _beside(desk)}
        for who, rate in told.items():
            if rate is not None and not _alike(rate, planned):
                yield desk.found("rate", f"{who} a rate of {rate}, and it is {planned}")
        return
    if video.rate is None:
        yield from _uneven(desk, video)
    elif not _alike(video.rate, planned):
        text = f"it runs at {_said(video.rate)} frames a second, and not at {_said(planned)}"
        if video.shown == desk.making.plan.total:
            text += f": its {desk.making.plan.total} frames are all there, and come at another rate"
            yield desk.found("rate", text, "its time stamps were changed after it was made")
        else:
            yield desk.found("rate", text)
        return
    if video.coded_rate is not None and not _alike(video.coded_rate, planned):
        text = f"its coded pictures say a rate of {_said(video.coded_rate)}, and it is "
        yield desk.found("rate", text + _said(planned))


def _beside(desk: Desk) -> Fraction | None:
    """Return the rate that stands beside numbered files."""
    try:
        return Fraction(desk.facts.values.get("rate", ""))
    except (ValueError, ZeroDivisionError):
        return None


def _said(rate: Fraction) -> str:
    return str(rate) if rate.denominator == 1 else f"{rate} ({float(rate):.3f})"


def _uneven(desk: Desk, video: VideoFacts) -> Iterator[Finding]:
    if not video.packets:
        return
    text = f"its frames do not come evenly, {_said(desk.rate)} a second"
    yield desk.found("rate", text, "a variable rate is none", output=video.uneven)


def _length(desk: Desk, video: VideoFacts) -> Iterator[Finding]:
    plan = desk.making.plan
    if video.shown != plan.total:
        shown = f"{video.shown}" if video.shown.denominator == 1 else f"{float(video.shown)}"
        yield desk.found("length", f"it has {shown} frames, and the plan {plan.total}")
    elif (
        video.lasts is not None
        and video.tick is not None
        and video.rate is not None
        and _alike(video.rate, desk.rate)
        and abs(video.lasts - plan.total_runtime) > 2 * video.tick
    ):
        text = f"it lasts {float(video.lasts):.3f} s, and the plan {float(plan.total_runtime):.3f}"
        yield desk.found("length", text)
    begins = desk.ending in _BEGIN_WITH_ZERO and video.start is not None
    if begins and video.start and video.tick and abs(video.start) > video.tick:
        text = f"its first picture is shown at {float(video.start):.3f} s, and not at 0"
        yield desk.found("start", text)


def _labels(desk: Desk, video: VideoFacts) -> Iterator[Finding]:
    """Hold the first label.

    Where none is asked for, MXF has one of zeros all the same, and so has MPEG-2 but for discs.
    """
    planned, told = desk.label, desk.facts.timecode
    beside = desk.facts.values.get("timecode") if desk.facts.numbered else None
    stated = desk.making.timecode
    if beside is not None and beside != stated:
        yield desk.found(
            "timecode", f"about.json says {beside}, and it is {stated or 'not stated'}"
        )
        return
    if told is None:
        if stated is not None and desk.ending in _LABELLED:
            yield desk.found("timecode", f"it has no timecode, and should begin with {stated}")
        return
    by_codec = desk.ending not in _LABELLED and video.codec == "mpeg2video"
    unset = desk.making.profile.disc is None if by_codec else desk.ending == "mxf" and not stated
    if told == _NO_LABEL and unset:
        return
    if planned is None or not _same_label(told, planned, marked=video.codec != "dpx"):
        text = f"its timecode begins with {told}, and not with {planned or 'any'}"
        yield desk.found("timecode", text, _why(told, planned))


def _same_label(one: str, other: str, *, marked: bool) -> bool:
    """Compare labels; DPX does not mark those that are drop-frame."""
    if not marked:
        one, other = one.replace(";", ":"), other.replace(";", ":")
    return one == other


def _why(told: str, planned: str | None) -> str:
    if planned is not None and told.replace(";", ":") == planned.replace(";", ":"):
        return "; before the frames marks drop-frame"
    return ""


def _numbers(desk: Desk, numbered: NumberedFacts) -> Iterator[Finding]:
    total = desk.making.plan.total
    for first, last in numbered.holes[:_TOLD]:
        missing = f"{first}" if first == last else f"{first} to {last}"
        yield desk.found("numbered files", f"files are missing: {missing}", output=first)
    if len(numbered.holes) > _TOLD:
        more = len(numbered.holes) - _TOLD
        yield desk.found("numbered files", f"files are missing in {more} more places")
    if numbered.first_number != 0:
        text = f"its files begin with number {numbered.first_number}, and not with 0"
        yield desk.found("numbered files", text)
    if numbered.count != total:
        yield desk.found("length", f"it has {numbered.count} files, and the plan {total} frames")
    if numbered.others:
        names = ", ".join(numbered.others[:_TOLD])
        yield desk.found("numbered files", f"other files lie among them: {names}")
