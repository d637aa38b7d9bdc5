"""What a pulse looks like: one film frame, or several that are mixed."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, TypeAlias

if TYPE_CHECKING:
    from fractions import Fraction

__all__ = ["Look", "Part"]


class Part(NamedTuple):
    """A film frame of reel number ``reel`` (black where it is None) in shot number ``unit``.

    ``weight`` is its part of the mean, above 0 and at most 1.
    """

    reel: int
    frame: int | None
    unit: int
    weight: Fraction


Look: TypeAlias = tuple[Part, ...]
"""Parts in the order of time; their weights sum to 1."""
