"""What readers of lists yield: shots as they are listed, not yet put in order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, field

from retime.speedmap.model import ShotKind

if TYPE_CHECKING:
    from retime.findings import Finding, TextPlace

__all__ = ["Listed", "ShotList", "left_out"]


class Listed(Struct, frozen=True, kw_only=True):
    """A shot, or a part of one: frames ``first``..``last`` of a reel's scan, both included.

    ``last`` is None where the shot runs up to the next one of its reel. ``shot`` is its own name,
    None where the list gives it none; ``name`` is what a person calls it. ``frozen`` marks one
    frame that is shown for long, which is no shot where another holds it.
    """

    reel: str
    first: int
    last: int | None
    place: TextPlace
    shot: str | None = None
    kind: ShotKind = ShotKind.ACTION
    name: str | None = None
    frozen: bool = False


class ShotList(Struct, frozen=True, kw_only=True):
    """A list read: its shots in the order listed, and warnings: what was not carried over."""

    shots: tuple[Listed, ...]
    findings: tuple[Finding, ...] = field(default=())


def left_out(count: int, what: str) -> str:
    """Say how many of a thing were not carried over; its first word takes an s."""
    noun, blank, rest = what.partition(" ")
    return f"{count} {noun}{'' if count == 1 else 's'}{blank}{rest} not carried over"
