"""What checking a deliverable came to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from pathlib import Path

    from retime.edition.damage import StandIn
    from retime.findings import Finding

__all__ = ["Checked"]


class Checked(Struct, frozen=True, kw_only=True):
    """A deliverable checked.

    ``right``, ``exact`` (to the sample), ``wrong`` and ``untold`` count output frames, or fields
    where the deliverable is interlaced (``in_fields``). ``moving`` are those whose neighbours look
    otherwise, ``moving_untold`` those of them that still cannot be told. ``sound_told`` is the
    share of the sound that could be held against its recording, None where there is none.
    ``damaged`` are frames of scans for which something else is shown, as its list says.
    """

    name: str
    path: Path
    findings: tuple[Finding, ...]
    seen: int = 0
    planned: int = 0
    right: int = 0
    exact: int = 0
    wrong: int = 0
    untold: int = 0
    moving: int = 0
    moving_untold: int = 0
    in_fields: bool = False
    sound_told: float | None = None
    damaged: tuple[StandIn, ...] = ()
