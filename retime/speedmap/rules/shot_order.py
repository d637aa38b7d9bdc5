"""Shots are listed as they play: reel by reel, and each reel's in the order of its frames.

This release shows a reel's frames in the order of the scan. A list in another order would ask for
another film, and is refused rather than sorted.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from retime.speedmap.rules.case import Case, error

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.findings import Finding

__all__ = ["check"]


def check(case: Case) -> Iterator[Finding]:
    """Find shots that are listed after one that plays later."""
    order = {name: index for index, name in enumerate(case.reels)}
    known = [shot for shot in case.map.shots if shot.reel in order]
    for before, shot in pairwise(known):
        here = order[shot.reel], shot.first
        if here < (order[before.reel], before.first):
            text = f"shot {shot.key} is listed after {before.key} and plays before it"
            hint = "list shots reel by reel, in the order of their frames"
            yield error("shot-order", shot.where.of(), text, hint)
