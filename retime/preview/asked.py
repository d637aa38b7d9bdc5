"""What is asked of a preview, read from the words of a command line."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, TypeVar

from msgspec import Struct

from retime.errors import CommandError, NotationError
from retime.film.notation import parse_rate, parse_speed, shown

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from retime.film.notation import SpokenSpeed
    from retime.film.speed import Rate, Speed

__all__ = ["MOST_EXCERPTS", "Asked", "asked", "candidates"]

MOST_EXCERPTS = 24
"""As many excerpts as a page has."""

_SLOWEST, _FASTEST = Fraction(4), Fraction(60)
"""No film was cranked slower or shown faster, with room to spare; most screens show 60 a second."""
_LOWEST_RATE, _HIGHEST_RATE = Fraction(10), Fraction(60)
_MOST_SPEEDS, _MOST_RATES = 12, 6
_NARROWEST, _WIDEST = 64, 1920
_SHORTEST, _LONGEST = 1, 60
_HINT_SPEEDS = "write speeds with commas between them: 16,18,20,22,24"
_HINT_RATES = "write rates with commas between them: 24,25,30"

_Value = TypeVar("_Value")


class Asked(Struct, frozen=True, kw_only=True):
    """What is wanted; ``width`` is in pixels, ``seconds`` an excerpt's most at the slowest speed.

    ``shots`` and ``frames`` are as written, None where nothing is said.
    """

    speeds: tuple[SpokenSpeed, ...]
    rates: tuple[Rate, ...]
    shots: tuple[str, ...] | None = None
    frames: tuple[str, ...] | None = None
    blend: bool = False
    width: int = 640
    seconds: int = 8


def asked(  # noqa: PLR0913 - as many as there are options
    *,
    speeds: str,
    rates: str,
    shots: str | None,
    frames: str | None,
    blend: bool,
    width: int,
    seconds: int,
) -> Asked:
    """Read the options; raises CommandError, which names the option, for what makes no sense."""
    _check_within("--width", width, _NARROWEST, _WIDEST, "pixels")
    _check_within("--seconds", seconds, _SHORTEST, _LONGEST, "seconds")
    found_rates = _each("--rates", rates, parse_rate, _MOST_RATES, _HINT_RATES)
    for rate in found_rates:
        if not _LOWEST_RATE <= rate.fps <= _HIGHEST_RATE:
            raise CommandError(
                f"--rates: {rate} is no rate of a deliverable that a page plays",
                f"write rates from {_LOWEST_RATE} to {_HIGHEST_RATE}",
            )
    return Asked(
        speeds=_each("--speeds", speeds, parse_speed, _MOST_SPEEDS, _HINT_SPEEDS),
        rates=tuple(sorted(set(found_rates))),
        shots=_listed("--shots", shots),
        frames=_listed("--frames", frames),
        blend=blend,
        width=width,
        seconds=seconds,
    )


def candidates(
    spoken: Sequence[SpokenSpeed], per_foot: Fraction, per_metre: Fraction | None
) -> tuple[Speed, ...]:
    """Return the candidate speeds, rising, each once, on film of so many frames to the foot.

    Raises CommandError for one beyond reason.
    """
    found = set()
    for one in spoken:
        try:
            speed = one.on(per_foot, per_metre)
        except NotationError as error:
            raise CommandError(f"--speeds: {error.text}", error.hint) from error
        if not _SLOWEST <= speed.fps <= _FASTEST:
            raise CommandError(
                f"--speeds: {shown(one.text)} is no speed at which a film is looked at",
                f"write speeds from {_SLOWEST} to {_FASTEST} fps",
            )
        found.add(speed)
    return tuple(sorted(found))


def _check_within(option: str, value: int, least: int, most: int, unit: str) -> None:
    if not least <= value <= most:
        raise CommandError(f"{option}: {value} is out of reason", f"say {least} to {most} {unit}")


def _listed(option: str, text: str | None) -> tuple[str, ...] | None:
    if text is None:
        return None
    found = tuple(part.strip() for part in text.split(","))
    if not all(found):
        raise CommandError(f"{option}: {shown(text)} leaves something out", "write one,another")
    return found


def _each(
    option: str, text: str, read: Callable[[str], _Value], most: int, hint: str
) -> tuple[_Value, ...]:
    if not text.strip():
        raise CommandError(f"{option} is empty", hint)
    parts = _listed(option, text) or ()
    if len(parts) > most:
        raise CommandError(f"{option}: {len(parts)} are too many", f"at most {most} are taken")
    try:
        return tuple(read(part) for part in parts)
    except NotationError as error:
        raise CommandError(f"{option}: {error.text}", error.hint) from error
