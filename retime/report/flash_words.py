"""What every report of the flash check says beside its figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.check.flash_limits import PEAK
from retime.report.numbers import decimal

if TYPE_CHECKING:
    from fractions import Fraction

    from retime.check.flash_seconds import Run
    from retime.check.flashes import Answer, FlashReport

__all__ = [
    "CAUTIONS",
    "IN_SHORT",
    "RECKONED",
    "area_said",
    "flashes_said",
    "rate_said",
    "verdict_said",
]

RECKONED = (
    (
        "A flash is two opposing transitions, from peak to valley and back, of 10 % of white or "
        f"more (20 of {PEAK} cd/m2), the darker state below 80 % (160 cd/m2); or two to and from "
        "a saturated red. More than three in a second on more than a quarter of the area are too "
        "many."
    ),
    (
        "WCAG: codes shown as sRGB; the area is any field of 10 degrees, a third of the width and "
        "height of a screen of 1024 x 768 that the picture fills. BT.1702: codes shown by BT.1886 "
        f"with white at {PEAK} cd/m2; the area is the whole picture."
    ),
    (
        "Each place is counted by itself, in blocks of 1/96 of the width and 1/72 of the height; "
        "what balances out within a block is not seen."
    ),
)
"""What the figures mean, and which screen they are reckoned with."""

CAUTIONS = (
    (
        "This is an aid, and no certificate of safety. It knows nothing of regular patterns, of "
        "high dynamic range, or of the screen and the room in which the film will be seen. "
        "Broadcasters and local rules decide, and say which tests they accept."
    ),
    (
        "Flashing pictures can bring on seizures in people with photosensitive epilepsy, some of "
        "whom do not know that they have it. Do not play a failing stretch to judge it if you, or "
        "anybody who can see the screen, has or may have photosensitive epilepsy. Whoever has to "
        "look should step through it picture by picture, on a small picture in a lit room, and "
        "stop at once on feeling unwell. Warn everyone to whom the film is shown or sent."
    ),
)
"""What has to be known before anyone relies on an answer, or looks at a failing stretch."""


IN_SHORT = "An aid, and no certificate of safety: broadcasters and local rules decide."
"""What a chart says, which has room for a line."""


def verdict_said(answer: Answer) -> str:
    """Return ``passes`` or ``fails``."""
    return "passes" if answer.passes else "fails"


def flashes_said(run: Run) -> str:
    """Return the flashes of a second: ``3.5``."""
    return decimal(run.flashes, 0 if run.flashes.denominator == 1 else 1)


def area_said(answer: Answer, run: Run) -> str:
    """Return on how much they were: ``31 % of a field``, ``31 % of the picture``."""
    of = "of a field" if answer.question.field else "of the picture"
    return f"{decimal(run.area * 100, 0)} % {of}"


def rate_said(report: FlashReport) -> str:
    """Return a film's rate, and the version that it is of."""
    rate = "no stated rate" if report.rate is None else f"{_fps(report.rate)} fps"
    return rate if report.version is None else f"version {report.version}, {rate}"


def _fps(rate: Fraction) -> str:
    return str(rate) if rate.denominator == 1 else f"{rate} ({decimal(rate, 3)})"
