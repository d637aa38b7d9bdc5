"""What a frame that does not decode does: a choice of whoever renders."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Damaged"]


class Damaged(StrEnum):
    """What a frame that does not decode does."""

    STOP = "stop"
    """It ends the render."""
    HOLD = "hold"
    """The last sound frame before it is shown in its place, black where there is none."""
    BLACK = "black"
    """Black is shown in its place."""
