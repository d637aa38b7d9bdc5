"""Windows of sound that complain of the same, put together."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.check.sound_windows import Hearing

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.check.sound_windows import Fit

__all__ = ["Span", "spans_of"]

_COMPLAINTS = {
    Hearing.SHIFTED: 2,
    Hearing.FOREIGN: 3,
    Hearing.MISSING: 1,
    Hearing.STRAY: 2,
}
"""How many windows have to say so; by chance a single one may."""
_NEUTRAL = {Hearing.CANNOT_TELL, Hearing.SILENT}


class Span(Struct, frozen=True):
    """Windows ``first`` to ``last`` that say the same; ``shift`` is their median, in bins."""

    hearing: Hearing
    first: int
    last: int
    shift: float


def spans_of(fits: Sequence[Fit], together: float) -> Iterator[Span]:
    """Yield the complaints; shifts that are at most ``together`` bins apart are one.

    Windows that say nothing part no two that say the same. A film of few windows is taken at the
    word of each.
    """
    least = {hearing: min(count, max(1, len(fits) // 2)) for hearing, count in _COMPLAINTS.items()}
    run: list[int] = []
    for number, fit in enumerate(fits):
        if fit.hearing in _NEUTRAL:
            continue
        if run and not _alike([fits[one] for one in run], fit, together):
            yield from _told(fits, run, least)
            run = []
        run.append(number)
    yield from _told(fits, run, least)


def _alike(run: Sequence[Fit], fit: Fit, together: float) -> bool:
    if run[0].hearing is not fit.hearing:
        return False
    if fit.hearing is not Hearing.SHIFTED:
        return True
    return abs(median(one.shift for one in run) - fit.shift) <= together


def _told(fits: Sequence[Fit], run: list[int], least: dict[Hearing, int]) -> Iterator[Span]:
    if run and len(run) >= least.get(fits[run[0]].hearing, len(run) + 1):
        shift = median(fits[number].shift for number in run)
        yield Span(fits[run[0]].hearing, run[0], run[-1], shift)
