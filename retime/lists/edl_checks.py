"""What has to hold between the figures of an EDL's events, and what is odd where it does not."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from retime.lists.edl_events import Effect
from retime.lists.speed_lines import fits, source_used, spoken

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.lists.edl_events import Edit

__all__ = ["odd_length", "overlaps", "unheld_transition"]

_FREEZES = re.compile(r"\bFREEZE|\bFFI\b", re.IGNORECASE)


def unheld_transition(edit: Edit) -> bool:
    """Tell whether a transition lasts longer than its event."""
    if edit.lasts is None or edit.effect is Effect.KEY_BACKGROUND:
        return False
    return edit.lasts > edit.record.frames


def odd_length(edit: Edit, nominal: int) -> tuple[str, str] | None:
    """Return what is odd about how much source an event names, and a hint; None if nothing is.

    ``nominal`` is how many labels make a second. Frozen frames may name as many as they like.
    """
    source, record = edit.source.frames, edit.record.frames
    if edit.speed is None:
        frozen = any(_FREEZES.search(remark) for remark in edit.remarks)
        if frozen or source == record:
            return None
        what = f"the source lasts {source} frames, the record {record}"
        return what, "a speed line (M2) would say why"
    speed = edit.speed.speed
    if not speed or not record or fits(source, speed, record, nominal):
        return None
    used = spoken(source_used(speed, record, nominal))
    what = f"{record} record frames at {spoken(speed)} in {nominal} use {used} source frames"
    return f"{what}, and the event names {source}", ""


def overlaps(edits: Sequence[tuple[int, Edit]]) -> Iterator[tuple[Edit, Edit]]:
    """Yield picture that is recorded over other picture, and that other.

    Edits come with the number of their event: a key and its background are one.
    """
    played = sorted(
        (one for one in edits if one[1].has_picture and one[1].record.frames),
        key=lambda one: (one[1].record.first, one[0]),
    )
    before: tuple[int, Edit] | None = None
    for event, edit in played:
        if before and event != before[0] and edit.record.first < before[1].record.stop:
            yield edit, before[1]
        if before is None or edit.record.stop >= before[1].record.stop:
            before = (event, edit)
