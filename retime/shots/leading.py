"""Where the picture begins and ends: what is leader at the ends of a scan.

White film, punched or odd single frames and counting are marks that no film's picture has at its
ends. All before the last of such marks is leader, and so is the black after it. Without a mark
only black is: a title between two blacks may be the film's own. The tail is the head read from
the end.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

from retime.shots.found import Leader, LeaderKind
from retime.shots.lettering import LETTERED

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.shots.found import FoundShot
    from retime.shots.sights import Sights

__all__ = ["Picture", "picture_in"]

_LONGEST = 2000  # frames: no leader is looked for beyond 125 feet
_STILL = 0.1  # of unlikeness in the middle of a piece
_PLAIN = {LeaderKind.BLACK, LeaderKind.WHITE, LeaderKind.STILL}
_BARE = 0.93  # of the samples near the ground's tone
_FEW = 2  # frames of an odd picture
_COUNTED = 3  # still pieces of one length in a row
_SLACK = 1  # frames by which their lengths may differ
_LONGEST_COUNT = 30  # frames of a piece of counting


class Picture(Struct, frozen=True, kw_only=True):
    """First and last frame of picture, and the leader on both sides of it."""

    first: int
    last: int
    head: tuple[Leader, ...]
    tail: tuple[Leader, ...]


class _Piece(NamedTuple):
    kind: LeaderKind | None
    length: int


def picture_in(sights: Sights, shots: Sequence[FoundShot]) -> Picture:
    """Return where the picture of a scan begins and ends; the whole scan where all seems leader."""
    pieces = list(_pieces(sights, shots))
    head = _leader(pieces)
    tail = _leader(pieces[::-1])
    taken = sum(piece.length for piece in pieces[:head])
    left = sum(piece.length for piece in pieces[len(pieces) - tail :])
    if taken + left >= sights.count:
        return Picture(first=0, last=sights.count - 1, head=(), tail=())
    placed = _placed(pieces)
    return Picture(
        first=taken,
        last=sights.count - 1 - left,
        head=tuple(placed[:head]),
        tail=tuple(placed[len(pieces) - tail :]),
    )


def _placed(pieces: Sequence[_Piece]) -> list[Leader]:
    found, at = [], 0
    for piece in pieces:
        kind = piece.kind or LeaderKind.STILL
        found.append(Leader(kind=kind, first=at, last=at + piece.length - 1))
        at += piece.length
    return found


def _pieces(sights: Sights, shots: Sequence[FoundShot]) -> Iterator[_Piece]:
    """Yield the scan's shots, blank runs by themselves; the kind is None for what moves."""
    borders = {0, sights.count, *(shot.first for shot in shots)}
    for flags in (sights.black, sights.white):
        edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
        borders |= {int(edge) for edge in edges}
    for first, stop in pairwise(sorted(borders)):
        yield _Piece(_kind(sights, first, stop), stop - first)


def _kind(sights: Sights, first: int, stop: int) -> LeaderKind | None:
    if sights.black[first:stop].all():
        return LeaderKind.BLACK
    if sights.white[first:stop].all():
        odd = stop - first <= _FEW and first > 0 and stop < sights.count
        return LeaderKind.PUNCH if odd else LeaderKind.WHITE
    if stop - first <= _FEW:
        return LeaderKind.PUNCH
    still = float(np.median(sights.change[first + 1 : stop])) < _STILL
    return LeaderKind.STILL if still and _bare(sights, first, stop) else None


def _bare(sights: Sights, first: int, stop: int) -> bool:
    """Tell whether a piece is lettering, or otherwise nothing but a ground and a mark on it."""
    lettered = float(np.median(sights.lettering[first:stop])) >= LETTERED
    return lettered or float(np.median(sights.measures.flat[first:stop])) > _BARE


def _leader(pieces: Sequence[_Piece]) -> int:
    """Return how many pieces at the beginning are leader."""
    known = 0
    frames = 0
    for piece in pieces:
        frames += piece.length
        if piece.kind is None or frames > _LONGEST:
            break
        known += 1
    marks = [at for at in range(known) if _marked(pieces[:known], at)]
    leader = marks[-1] + 1 if marks else 0
    leader = _label(pieces, leader, known)
    while leader < known and pieces[leader].kind is LeaderKind.BLACK:
        leader += 1
    return leader


def _label(pieces: Sequence[_Piece], leader: int, known: int) -> int:
    """Return how many pieces are leader with a label between white film and black."""
    if (
        0 < leader < known - 1
        and pieces[leader - 1].kind is LeaderKind.WHITE
        and pieces[leader].kind is LeaderKind.STILL
        and pieces[leader + 1].kind is LeaderKind.BLACK
    ):
        return leader + 1
    return leader


def _marked(pieces: Sequence[_Piece], at: int) -> bool:
    """Tell whether a piece is white film, an odd frame, or the end of counting."""
    if pieces[at].kind is LeaderKind.WHITE:
        return True
    if pieces[at].kind is LeaderKind.PUNCH:  # among leader: else it may be a title, however short
        return any(one.kind in _PLAIN for one in pieces[max(at - 1, 0) : at + 2])
    counted = [piece for piece in pieces[: at + 1] if piece.kind is LeaderKind.STILL]
    lengths = [piece.length for piece in counted[-_COUNTED:]]
    return (
        pieces[at].kind is LeaderKind.STILL
        and len(lengths) == _COUNTED
        and max(lengths) - min(lengths) <= _SLACK
        and max(lengths) <= _LONGEST_COUNT
    )
