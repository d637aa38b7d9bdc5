"""The routes on one core: both sides are kept to it."""

from collections.abc import Callable, Iterator
from dataclasses import replace

import msgspec

from benching.bench import Bench
from benching.composing import blend
from benching.copying import copy
from benching.rows import Row
from benching.scans import Scans
from benching.sixfold import six
from benching.viewing import h264

__all__ = ["single"]

_ROUTES: tuple[Callable[[Bench], Iterator[Row]], ...] = (copy, six, h264, blend)
_FEWER = 4  # times fewer pictures drawn: on one core all takes long
_ROUNDS = 3  # at most, for the same reason


def single(bench: Bench) -> Iterator[Row]:
    """Measure again where cores matter; what is promised is promised of all that there are."""
    alone = replace(
        bench,
        core=0,
        runs=min(bench.runs, _ROUNDS),
        scans=Scans(bench.folder, frames=bench.scale.drawn // _FEWER),
    )
    for route in _ROUTES:
        for row in route(alone):
            yield msgspec.structs.replace(
                row, name=f"on one core, {row.name}", most=None, least=None, told=row.ok is not None
            )
