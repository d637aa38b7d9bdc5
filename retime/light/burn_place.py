"""Where in a picture the text of a reference copy stands."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["BurnPlace"]


class BurnPlace(StrEnum):
    """Where burnt-in text stands, at an edge of what is safe for graphics."""

    TOP_LEFT = "top-left"
    TOP = "top"
    TOP_RIGHT = "top-right"
    BOTTOM_LEFT = "bottom-left"
    BOTTOM = "bottom"
    BOTTOM_RIGHT = "bottom-right"

    @property
    def at_top(self) -> bool:
        """Whether it stands at the upper edge rather than at the lower one."""
        return self in {BurnPlace.TOP_LEFT, BurnPlace.TOP, BurnPlace.TOP_RIGHT}

    @property
    def at_left(self) -> bool:
        """Whether it stands at the left edge."""
        return self in {BurnPlace.TOP_LEFT, BurnPlace.BOTTOM_LEFT}

    @property
    def at_right(self) -> bool:
        """Whether it stands at the right edge; in the middle where at neither."""
        return self in {BurnPlace.TOP_RIGHT, BurnPlace.BOTTOM_RIGHT}
