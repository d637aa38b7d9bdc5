"""Which speed looks right to people who saw several of them."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt
from typing import TYPE_CHECKING, TypeAlias

from retime.errors import NotationError
from retime.evidence.families import SPEED
from retime.evidence.figures import Figure
from retime.evidence.model import Implied, Measure, Yardstick
from retime.evidence.preferences import whole
from retime.evidence.quantity import around
from retime.film.notation import SpeedUnit, SpokenSpeed
from retime.film.rounding import half_up
from retime.yamldoc.quoting import listed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from retime.evidence.document import ViewingSection
    from retime.evidence.item_reader import ItemReader
    from retime.evidence.preferences import Preference, Screen

__all__ = ["viewing"]

_Weighed: TypeAlias = "Sequence[tuple[Fraction, Fraction]]"
"""Speeds in frames per second, each with its weight, whose sum is 1."""

_EXAMPLES = {
    "votes": "votes: {18 fps: 3, 20 fps: 5}",
    "shares": "shares: {18 fps: 20 %, 20 fps: 80 %}",
}


def viewing(section: ViewingSection, reader: ItemReader) -> tuple[Implied, ...]:
    """Return the mean of the speeds, by votes or by shares.

    Its variance is that of what people cannot tell apart, a rectangle's, and besides: of votes, the
    sample's over their number; of shares, that of the speeds by their shares, for a share is a
    probability already, and no count from which one would follow.
    """
    key = reader.only(section, ("votes", "shares"))
    if key is None:
        return ()
    offered: Mapping[SpokenSpeed, int | Preference] = section.votes or section.shares or {}
    if not offered:
        reader.tell("viewing", f"there are no {key}", f"write {_EXAMPLES[key]}", key)
        return ()
    weighed = _weighed(section, key, reader)
    if weighed is None:
        return ()
    mean = sum((fps * weight for fps, weight in weighed), start=Fraction(0))
    spread = sum((weight * (fps - mean) ** 2 for fps, weight in weighed), start=Fraction(0))
    said = ", ".join(f"{speed.text}: {told}" for speed, told in offered.items())
    spoken = SpokenSpeed(amount=mean, unit=SpeedUnit.FPS, text=said)
    told = reader.main(Figure(text=said, first=spoken), SPEED, key)
    if told is None:
        return ()
    if section.votes is not None:
        spread /= max(1, sum(section.votes.values()) - 1)
    fps = around(mean, Fraction(sqrt(told.quantity.variance + spread)))
    if fps.low <= 0:
        reader.tell("viewing", f"the {key} are so far apart that they say nothing", "", key)
        return ()
    if section.screen is not None:
        _doubt(section.screen, weighed, reader)
    yardstick = Yardstick(measure=Measure.FPS, factor=Fraction(1))
    return (Implied(speed=fps, said=_said(told.said, section.screen), yardstick=yardstick),)


def _said(figure: str, screen: Screen | None) -> str:
    return figure if screen is None else f"{figure}, on a screen of {screen.text}"


def _weighed(section: ViewingSection, key: str, reader: ItemReader) -> _Weighed | None:
    """Return the speeds and their weights, None once what is wrong is told."""
    if section.shares is not None:
        weights = _parts(section.shares, reader)
    else:
        votes = section.votes or {}
        weights = {speed: Fraction(count, sum(votes.values())) for speed, count in votes.items()}
    found: list[tuple[Fraction, Fraction]] = []
    for speed, weight in weights.items():
        one = reader.other(Figure(text=speed.text, first=speed), SPEED, key, speed.text)
        found += [] if one is None else [(one.value, weight)]
    return found if found and len(found) == len(weights) else None


def _parts(
    shares: Mapping[SpokenSpeed, Preference], reader: ItemReader
) -> dict[SpokenSpeed, Fraction]:
    """Return shares as parts of their sum, which rounding may have moved off 1."""
    try:
        total = whole(shares.values())
    except NotationError as error:
        reader.tell("viewing", error.text, error.hint, "shares")
        return {}
    return {speed: share.of / total for speed, share in shares.items()}


def _doubt(screen: Screen, weighed: _Weighed, reader: ItemReader) -> None:
    """Remark that the screen itself showed some of the speeds unevenly, where it did.

    A speed that runs evenly may have been preferred for its smoothness alone.
    """
    preferred = sorted(fps for fps, weight in weighed if weight)
    uneven = [fps for fps in preferred if screen.uneven(fps)]
    if not uneven:
        return
    even = [fps for fps in preferred if fps not in uneven]
    what = f"a screen of {screen.text} shows {_listed(uneven)} fps unevenly"
    what += f", some film frames {half_up(screen.milliseconds)} ms longer"
    hint = f"{_listed(even)} fps may have won by running evenly" if even else ""
    reader.remark("screen", what, hint, "screen")


def _listed(speeds: Sequence[Fraction]) -> str:
    return listed(f"{float(fps):.2f}".rstrip("0").rstrip(".") for fps in speeds)
