"""The film frames that do not last as long in two versions, in runs."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from itertools import zip_longest
from typing import TYPE_CHECKING, Any, TypeAlias

from retime.report.differences import natural
from retime.report.film_runs import together
from retime.speedmap.lasting import Lasting

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

__all__ = ["Stretches", "speeds_apart"]

_Pair: TypeAlias = tuple[Lasting | None, Lasting | None]
Stretches: TypeAlias = tuple[_Pair, ...]


def speeds_apart(left: Iterable[Lasting], right: Iterable[Lasting]) -> Stretches:
    """Return the runs of frames that last otherwise, reel by reel; None for what does not play.

    A frame may play several times, and as often as it likes: only speeds that no showing on the
    other side has are told, beside those that it has there. A ramp is told whole, by its two ends,
    although one frame of it may last as long as the other side's.
    """
    ours, others = _by_reel(left), _by_reel(right)
    found: list[_Pair] = []
    for reel in ours.keys() | others.keys():
        ranks: dict[int, list[_Pair]] = defaultdict(list)
        for one, other in _cells(ours[reel], others[reel]):
            for rank, pair in enumerate(_apart(one, other)):
                ranks[rank].append(pair)
        found += [pair for pairs in ranks.values() for pair in _joined(pairs)]
    return tuple(sorted(found, key=_place))


def _by_reel(runs: Iterable[Lasting]) -> dict[str, list[Lasting]]:
    reels: dict[str, list[Lasting]] = defaultdict(list)
    for run in runs:
        reels[run.reel].append(run)
    return reels


def _cells(
    ours: Sequence[Lasting], others: Sequence[Lasting]
) -> Iterator[tuple[list[Lasting], list[Lasting]]]:
    """Yield what either side has for frames between which no run begins or ends, rising."""
    bounds = sorted({at for run in (*ours, *others) for at in (run.first, run.last + 1)})
    sides = []
    for runs in (ours, others):
        cells: list[list[Lasting]] = [[] for _ in bounds]
        for run in runs:
            begin, stop = bisect_left(bounds, run.first), bisect_left(bounds, run.last + 1)
            for at in range(begin, stop):
                part = run.since(bounds[at], bounds[at + 1] - 1)
                if part not in cells[at]:
                    cells[at].append(part)
        sides.append(cells)
    return zip(*sides, strict=True)


def _apart(ours: Sequence[Lasting], others: Sequence[Lasting]) -> Iterator[_Pair]:
    left = [run for run in ours if run not in others]
    right = [run for run in others if run not in ours]
    if not left and not right:
        return
    for one, other in zip_longest(left, right):
        yield one or _last(left, ours), other or _last(right, others)


def _last(apart: Sequence[Lasting], every: Sequence[Lasting]) -> Lasting | None:
    """Return what stands over against one more speed of the other side."""
    return (apart or every or (None,))[-1]


def _joined(found: Iterable[_Pair]) -> Iterator[_Pair]:
    """Yield runs that differ, those joined that go on alike on both sides."""
    held: _Pair | None = None
    for pair in found:
        longer = held and tuple(map(_goes_on, held, pair))
        if held is not None and longer and None not in longer:
            held = (longer[0] or None, longer[1] or None)
            continue
        if held is not None:
            yield held
        held = pair
    if held is not None:
        yield held


def _goes_on(one: Lasting | None, other: Lasting | None) -> Any:
    """Return two runs as one; False where both are nothing, None where they do not go on."""
    if one is None and other is None:
        return False
    return together(one, other) if one is not None and other is not None else None


def _place(pair: _Pair) -> tuple[Any, ...]:
    run = pair[0] or pair[1]
    return (natural(run.reel), run.reel, run.first) if run else ()
