"""A rate that is nearly a standard one, and is none, is asked about.

``rate: 23.97`` is read as it stands, 2397/100, for 23.976 and 23.98 alone mean 24000/1001: a file
of that rate slips against every other of the trade.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from retime.speedmap.rules.case import Case, warning

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.film.speed import Rate
    from retime.findings import Finding

__all__ = ["check"]

# Rec. ITU-R BT.709 (24 to 60, also divided by 1.001), Rec. ITU-R BT.2020 (100, 120, and 120
# divided by 1.001) and SMPTE ST 428-11 (48, 96), all from memory; 48 divided by 1.001 by twice 24.
_WHOLE: Final = (24, 25, 30, 48, 50, 60, 96, 100, 120)
_DIVIDED: Final = (24, 30, 48, 60, 120)
_STANDARD: Final = (
    *map(Fraction, _WHOLE),
    *(Fraction(1000 * whole, 1001) for whole in _DIVIDED),
)
_NEAR: Final = Fraction(1, 1000)


def check(case: Case) -> Iterator[Finding]:
    """Find rates within a thousandth of a standard one that are not quite that."""
    for deliverable in case.map.deliverables.values():
        for key, rate in (("rate", deliverable.rate), ("conform-at", deliverable.conform_at)):
            if rate is not None and (meant := _meant(rate)) is not None:
                text = f"{float(rate.fps):.10g} is the rate {rate}, which is next to a standard one"
                hint = f"was {meant} meant?"
                yield warning("odd-rate", deliverable.where.of(key), text, hint)


def _meant(rate: Rate) -> Fraction | None:
    """Return the standard rate that a rate is next to; None where it is one, or next to none."""
    nearest = min(_STANDARD, key=lambda standard: abs(rate.fps - standard))
    return nearest if 0 < abs(rate.fps - nearest) <= _NEAR * nearest else None
