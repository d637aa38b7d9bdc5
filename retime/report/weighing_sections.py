"""The sections of a score as a person reads them, each beside the speed of its run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.evidence.score import Standing
from retime.report.weighing_measures import (
    doubt_said,
    joined,
    length_frames_said,
    lengths_said,
    time_said,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.evidence.model import Evidence
    from retime.evidence.score import ScoreFit, SectionFit

__all__ = ["SectionRow", "fit_said", "section_rows"]

_PLACES = 2


class SectionRow(Struct, frozen=True, kw_only=True):
    """A section: its name, the print's length, the music's time, the speed and what it reads as."""

    name: str
    length: str
    time: str
    speed: str
    told: str
    fits: bool


def section_rows(evidence: Evidence, fit: ScoreFit) -> Iterator[SectionRow]:
    """Yield a row a section, in the order of the score."""
    for one in fit.sections:
        yield SectionRow(
            name=one.section.name,
            length=length_frames_said(evidence, one.section.frames.value),
            time=time_said(one.section.seconds.value),
            speed=doubt_said(one.section.speed, _PLACES),
            told=_told(evidence, one),
            fits=one.standing is Standing.FITS,
        )


def _told(evidence: Evidence, one: SectionFit) -> str:
    if one.frames is None:
        return "fits"
    return f"about {lengths_said(evidence, one.frames)} {one.standing}"


def fit_said(fit: ScoreFit) -> str:
    """Return in a sentence or two whether one speed fits all sections, and what sticks out."""
    apart = [one.section.name for one in fit.sections if one.standing is not Standing.FITS]
    told = f"One speed fits: {doubt_said(fit.speed, _PLACES)} fps"
    if not fit.one_speed:
        told = f"Several speeds fit better than one: {_runs(fit)}"
    if apart:
        count = len(fit.sections) - len(apart)
        told += f", in {count} of {len(fit.sections)} sections; {joined(apart, 'and')} "
        told += "sticks out" if len(apart) == 1 else "stick out"
    if fit.scatter > 1:
        told += f". The sections differ {fit.scatter:.1f} times as much as they state"
    return f"{told}."


def _runs(fit: ScoreFit) -> str:
    """Return each run of sections with its speed."""
    stops = [first for first, _ in fit.runs[1:]] + [len(fit.sections)]
    told = []
    for (first, speed), stop in zip(fit.runs, stops, strict=True):
        names = fit.sections[first].section.name, fit.sections[stop - 1].section.name
        told.append(f"{names[0]} to {names[1]} at {doubt_said(speed, _PLACES)} fps")
    return joined(told, "and")
