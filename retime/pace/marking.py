"""How many film frames a movement takes, by frames that were marked by hand."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from retime.errors import CommandError, NotationError
from retime.film.notation import shown
from retime.media.count import frame_count
from retime.media.probe import probe
from retime.pace.counting import Paced
from retime.pace.measuring import check_frames
from retime.signal.marks import fit_marks
from retime.signal.period import Unclear

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from retime.pace.motion import Motion

__all__ = ["marked", "parse_marks"]

_MARK = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,6})?", re.ASCII)
_HINT = "write frames in rising order, two or more: 12,21.5,30"
_BOTH = 2


def parse_marks(text: str) -> tuple[tuple[str, ...], tuple[Fraction, ...]]:
    """Read ``12,21.5,30``: the marks as they were written, and as figures.

    Raises NotationError for what is no frame, or does not rise.
    """
    told = tuple(one.strip() for one in text.split(","))
    for one in told:
        if not _MARK.fullmatch(one):
            raise NotationError(f"{shown(one)} is no frame", _HINT)
    marks = tuple(Fraction(one) for one in told)
    if len(marks) < _BOTH:
        raise NotationError("one mark tells no period", _HINT)
    for one, other in pairwise(told):
        if Fraction(other) <= Fraction(one):
            raise NotationError(f"{other} does not come after {one}", _HINT)
    return told, marks


def marked(
    scan: Path, marks: Sequence[Fraction], motion: Motion | None, *, cache: Path | None
) -> Paced | Unclear:
    """Return how many frames a movement takes, by frames of a scan that were marked, rising.

    Raises ScanError for what is no scan, and CommandError for marks that it has not, or that are
    no fall's.
    """
    check_frames({"--marks": marks[-1]}, scan, frame_count(probe(scan), cache=cache))
    if motion is not None and motion.falls and len(marks) != _BOTH:
        raise CommandError(
            f"--marks: a fall has two, not {len(marks)}", "mark where it is let go, and the ground"
        )
    found = fit_marks(marks)
    if isinstance(found, Unclear):
        return found
    two = "two marks tell no error: that of reading each to half a frame is taken"
    return Paced(
        frames=found.period,
        uncertainty=found.standard_error,
        confidence=None,
        seen=float(found.periods),
        notes=(two,) if len(marks) == _BOTH else (),
    )
