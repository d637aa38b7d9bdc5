"""Where in a deliverable something was found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["FilePlace"]


class FilePlace(Struct, frozen=True, kw_only=True):
    """A deliverable's file, or an output frame of it, counted from 0.

    ``timecode`` is the frame's label where the rate has labels; ``film`` says in words what stands
    there (``reel 1, frame 130, shot 1/4``). ``seconds`` is told where a place is a time.
    """

    path: Path
    deliverable: str
    output: int | None = None
    timecode: str = ""
    film: str = ""
    seconds: float | None = None

    def __str__(self) -> str:
        """Return the place as a person reads it."""
        said = [str(self.path)]
        if self.output is not None:
            said.append(f"output frame {self.output}")
        elif self.seconds is not None:
            said.append(f"at {self.seconds:.3f} s")
        if self.timecode:
            said.append(self.timecode)
        if self.film:
            said.append(self.film)
        return ", ".join(said)

    @property
    def order(self) -> tuple[str, int, int]:
        """Sort by file, what concerns all of it first, then by output frame."""
        return str(self.path), -1 if self.output is None else self.output, 0
