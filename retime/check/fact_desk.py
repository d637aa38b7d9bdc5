"""What a deliverable is held against, and how what is found is told: for every rule of facts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.check.place import FilePlace
from retime.film.timecode import label
from retime.findings import Finding, Severity

if TYPE_CHECKING:
    from fractions import Fraction
    from pathlib import Path

    from retime.edition.edition import Edition, Making
    from retime.second.facts import FileFacts

__all__ = ["Desk"]

_SEQUENCE = "sequence"


class Desk(Struct, frozen=True, kw_only=True):
    """One deliverable's plan beside its file's facts."""

    edition: Edition
    making: Making
    path: Path
    facts: FileFacts

    @property
    def ending(self) -> str:
        """What kind of file it should be: an ending, or ``sequence``."""
        if self.making.profile.container is not None:
            return str(self.making.profile.container)
        return _SEQUENCE if self.path.is_dir() else self.path.suffix.removeprefix(".")

    @property
    def copied(self) -> bool:
        """Whether coded pictures are the scan's own, and say what they said there."""
        return self.making.profile.codec is None

    @property
    def rate(self) -> Fraction:
        """Whole frames a second, as planned."""
        return self.making.plan.conform.rate.fps

    @property
    def label(self) -> str | None:
        """The first output frame's label; None where the rate has no labels."""
        rate = self.making.plan.conform.rate
        if rate.nominal.fps.denominator != 1:
            return None
        return label(self.making.start, rate, drop=self.making.drop_frame)

    def found(  # noqa: PLR0913 - a finding has as many parts
        self,
        rule: str,
        text: str,
        hint: str = "",
        *,
        output: int | None = None,
        seconds: Fraction | None = None,
        severity: Severity = Severity.ERROR,
    ) -> Finding:
        """Return a finding about the file, an output frame of it, or a time in it."""
        place = FilePlace(
            path=self.path,
            deliverable=self.making.name,
            output=output,
            seconds=None if seconds is None else float(seconds),
        )
        return Finding(place=place, rule=rule, text=text, hint=hint, severity=severity)
