"""How frames are scanned: whole, or as two fields one after the other."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Scanning"]


class Scanning(StrEnum):
    """How a deliverable's frames are scanned."""

    PROGRESSIVE = "progressive"
    TOP_FIRST = "top-first"
    BOTTOM_FIRST = "bottom-first"

    @property
    def interlaced(self) -> bool:
        """Whether a frame is two fields, one after the other."""
        return self is not Scanning.PROGRESSIVE
