"""Where most moves in a reel, by a bounded number of glances into its scan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.preview.glancing import Glances

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from retime.edition.scans import ReelScan
    from retime.preview.glancing import Glance

__all__ = ["GLANCES", "PARTS", "Busiest", "busiest_of", "glances_in"]

GLANCES = 40
"""Pairs of neighbouring frames that are looked at in a reel."""
PARTS = 10
"""Equal parts that a reel without shots is looked at in: each of them more than once."""

_MOST_IN_ONE = 8
_TELLING = 2
_CUT = 4  # times as much as any other glance of a span sees


class Busiest(Struct, frozen=True, kw_only=True):
    """The span with the most motion: its number, and the frame about which it is busiest.

    ``about`` is None where nothing could be seen; then it is the longest span.
    """

    span: int
    about: int | None


def busiest_of(
    scan: ReelScan, spans: Sequence[tuple[int, int]], seen: Callable[[], None]
) -> Busiest:
    """Return which of a reel's spans, first and last film frames, has the most motion.

    Of more than ``GLANCES`` the longest are looked at; ``seen`` is called after each glance.
    """
    lengths = [last - first + 1 for first, last in spans]
    longest = sorted(range(len(spans)), key=lambda number: -lengths[number])[:GLANCES]
    each = min(_MOST_IN_ONE, GLANCES // len(longest))
    best: tuple[float, int, int] | None = None
    with Glances(scan) as glances:
        for number in sorted(longest):
            first, last = spans[number]
            found = []
            for frame in _places(first, last, each):
                glance = glances.at(frame, first)
                seen()
                if glance is not None:
                    found.append(glance)
            kept = _without_cuts(found)
            if kept:
                mean = sum(glance.motion for glance in kept) / len(kept)
                if best is None or mean > best[0]:
                    best = mean, number, max(kept, key=lambda one: one.motion).frame
    if best is None:
        return Busiest(span=longest[0], about=None)
    return Busiest(span=best[1], about=best[2])


def glances_in(spans: int) -> int:
    """Return how many glances at most are taken in so many spans."""
    looked_at = min(spans, GLANCES)
    return looked_at * min(_MOST_IN_ONE, GLANCES // looked_at)


def _without_cuts(glances: Sequence[Glance]) -> list[Glance]:
    """Return glances without the one that sees far more than any other: a cut, a splice, a flash.

    Of one or two nobody knows which is the odd one.
    """
    ranked = sorted(glances, key=lambda glance: -glance.motion)
    if len(ranked) > _TELLING and ranked[0].motion > _CUT * ranked[1].motion:
        return ranked[1:]
    return ranked


def _places(first: int, last: int, count: int) -> list[int]:
    """Return frames in the middles of ``count`` equal parts of a span, each once."""
    frames = last - first  # the last one has no neighbour
    middles = (first + frames * (2 * part + 1) // (2 * count) for part in range(count))
    return list(dict.fromkeys(min(frame, last - 1) for frame in middles)) if frames else []
