"""A map's list of shots changed in place, whether it stands in the map or in a table beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from retime.speedmap.manuscript import Manuscript

__all__ = ["copy_shot", "remove_shots", "rewrite_shot"]


def rewrite_shot(script: Manuscript, place: int, values: Mapping[str, str]) -> None:
    """Write other values into a shot; ``place`` is its place in the list, keys are its columns."""
    if script.table is not None:
        script.table.set_cells(place, values)
        return
    for key, text in values.items():
        script.text.set_value(("shots", place, key), text)


def copy_shot(script: Manuscript, place: int, values: Mapping[str, str]) -> None:
    """Put a copy of a shot behind it, with other values."""
    if script.table is not None:
        script.table.copy_row(place, values)
    else:
        script.text.copy_item(("shots",), place, values)


def remove_shots(script: Manuscript, places: Sequence[int]) -> None:
    """Take shots out of the list."""
    if script.table is None:
        script.text.remove_items(("shots",), places)
        return
    for place in places:
        script.table.remove_row(place)
