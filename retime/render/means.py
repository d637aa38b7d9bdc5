"""How a render is to be made: in how long pieces, by whom, and what happens where it fails."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.render.damaged import Damaged
from retime.render.pieces import LENGTH

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["Means"]


def _unsaid(_: str) -> None:
    """Nobody is told."""


class Means(Struct, frozen=True, kw_only=True):
    """``pieces`` is how many film frames a piece has, about; ``workers`` None for one a core.

    ``cluster`` is the address of a scheduler, or a file that names one. With ``keep_going`` a
    deliverable that fails does not stop the others; ``damaged`` is what frames do that do not
    decode. ``tell`` takes what is to be said by the way.
    """

    pieces: int = LENGTH
    workers: int | None = None
    cluster: str | None = None
    keep_going: bool = False
    damaged: Damaged = Damaged.STOP
    tell: Callable[[str], None] = _unsaid
