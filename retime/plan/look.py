"""What a pulse looks like: one film frame, or several that are mixed."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple, TypeAlias

if TYPE_CHECKING:
    from fractions import Fraction

    from retime.speedmap.assembly import Plate

__all__ = ["Look", "Part"]


class Part(NamedTuple):
    """A film frame of reel number ``reel`` in shot number ``unit``.

    ``frame`` is None for a ``plate``, and for black, which has no plate either; ``unit`` and
    ``reel`` are None before and after the film. ``weight`` is its part of the mean, above 0 and at
    most 1.
    """

    reel: int | None
    frame: int | None
    unit: int | None
    weight: Fraction
    plate: Plate | None = None


Look: TypeAlias = tuple[Part, ...]
"""Parts in the order of time; their weights sum to 1."""
