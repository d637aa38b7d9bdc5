"""The map's table of shots, written."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.lists.listed import Listed

__all__ = ["SHOT_COLUMNS", "shot_table"]

SHOT_COLUMNS = ("reel", "first", "last", "shot", "kind", "name")


def shot_table(shots: Iterable[Listed]) -> str:
    """Return the shots as the table that a map's ``shots`` names."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(SHOT_COLUMNS)
    for one in shots:
        writer.writerow((one.reel, one.first, one.last, one.shot, one.kind, one.name or ""))
    return text.getvalue()
