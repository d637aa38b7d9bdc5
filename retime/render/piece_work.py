"""Makes one piece: what a worker does, here or in another process or on another machine."""

from __future__ import annotations

import pickle
from functools import lru_cache, partial
from threading import get_ident
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from retime.render.damage import Damage
from retime.render.failures import Failures
from retime.render.film import film_frames
from retime.render.journal import decided_in
from retime.render.passage import Manner, Passage
from retime.render.piece_files import Made, PieceOutlet
from retime.render.recipe import Wanted
from retime.render.records import leave_record
from retime.render.sinks import Pass
from retime.render.witness import check_unchanged

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path

    from retime.edition.edition import Edition
    from retime.errors import RetimeError
    from retime.render.damage import DamagedFrame
    from retime.render.damaged import Damaged
    from retime.render.order import Order
    from retime.render.pieces import Piece
    from retime.render.progress import Progress
    from retime.render.witness import Stamp

__all__ = ["Brief", "Ended", "Task", "make_piece"]


class Brief(NamedTuple):
    """What all pieces of a render have in common; ``folder`` is where stores are put.

    ``stamps`` are those of the scans, ``threads`` how many a decoder uses, 0 for one a core.
    """

    edition: Edition
    passes: tuple[Pass, ...]
    folder: Path
    stamps: Mapping[str, Stamp]
    threads: int
    keep_going: bool
    damaged: Damaged

    def packed(self) -> bytes:
        """Return it as it is handed to workers, without what only the joining needs."""
        bare = tuple(_bare(one) for one in self.passes)
        return pickle.dumps(self._replace(passes=bare), protocol=5)


class Task(Struct, frozen=True, kw_only=True):
    """A piece of a pass, by the pass's number."""

    number: int
    piece: Piece

    @property
    def name(self) -> str:
        """The piece's name, in journals and files."""
        return f"{self.number}-{self.piece.number}"


class Ended(Struct, frozen=True, kw_only=True):
    """How a task ended: what it made, and which deliverables failed, by name."""

    task: Task
    made: Made
    failed: dict[str, RetimeError]


def make_piece(brief: bytes, task: Task, progress: Progress) -> Ended:
    """Make a piece, and return what it left behind.

    Raises as a whole render does, and ScanError where a scan is not what it was.
    """
    return _bench(brief, get_ident()).make(task, progress)


def _bare(made: Pass) -> Pass:
    """Return a pass without its copies, and its orders without all but their pictures."""

    def bare(orders: Iterable[Order]) -> list[Order]:
        return [
            replace(order, company=tuple, beside=(), meters=(), chapters=()) for order in orders
        ]

    shared = {alike: bare(orders) for alike, orders in made.shared.items()}
    return Pass(reading=made.reading, shared=shared, streams=bare(made.streams))


class _Bench:
    """A worker's own copy of the brief, and how far it has walked in each order's plan."""

    def __init__(self, brief: bytes) -> None:
        self._brief: Brief = pickle.loads(brief)  # noqa: S301 - our own, by our own hand
        self._mark = decided_in(self._brief.folder)
        self._walks: dict[str, _Walk] = {}

    def make(self, task: Task, progress: Progress) -> Ended:
        brief, piece = self._brief, task.piece
        made = brief.passes[task.number]
        scans = [brief.edition.scans[one] for one in {run.scan for run in piece.runs.values()}]
        check_unchanged(scans, brief.stamps)
        outlets: list[PieceOutlet] = []
        whole = {order.name: order for order in made.orders}

        def outlet(_: object) -> PieceOutlet:
            store = brief.folder / f"{task.name}-{len(outlets)}.packets"
            outlets.append(PieceOutlet(store, whole))
            return outlets[-1]

        failures = Failures(keep_going=brief.keep_going)
        damage = Damage(brief.damaged)
        manner = Manner(outlet, partial(film_frames, threads=brief.threads, damage=damage))
        Passage(brief.edition, self._narrowed(made, piece), manner, failures).run(progress)
        check_unchanged(scans, brief.stamps)
        made_of_it = _together(outlets, sorted(damage.found))
        if not failures.known:
            leave_record(brief.folder, task.name, made_of_it, self._mark)
        return Ended(task=task, made=made_of_it, failed=failures.known)

    def _narrowed(self, made: Pass, piece: Piece) -> Pass:
        """Return what of a pass a piece is."""
        shared = {alike: list(self._parts(group, piece)) for alike, group in made.shared.items()}
        return Pass(
            reading=made.reading,
            shared={alike: orders for alike, orders in shared.items() if orders},
            streams=list(self._parts(made.streams, piece)),
            read=piece.runs,
        )

    def _parts(self, orders: Iterable[Order], piece: Piece) -> Iterator[Order]:
        for order in orders:
            if order.name not in piece.outputs:
                continue
            first, stop = piece.outputs[order.name]
            if (first, stop) == (order.outputs.start, order.outputs.stop):
                yield order
                continue
            walk = self._walks.setdefault(order.name, _Walk(order))
            yield replace(order, outputs=range(first, stop), portion=walk.portion(first, stop))


@lru_cache(maxsize=8)
def _bench(brief: bytes, _thread: int) -> _Bench:
    """Return the bench of a thread, kept from piece to piece."""
    return _Bench(brief)


class _Walk:
    """Goes through an order's plan piece by piece, so that none is walked through from its start.

    Pieces mostly come in the order of the plan; for one that does not, the walk begins again.
    """

    def __init__(self, order: Order) -> None:
        self._order = order
        self._begin()

    def _begin(self) -> None:
        self._coming = iter(self._order.pictures())
        self._at = self._order.outputs.start

    def portion(self, first: int, stop: int) -> tuple[Wanted, ...]:
        if first < self._at:
            self._begin()
        found = []
        while self._at < stop:
            times, recipe = next(self._coming)
            begin, self._at = self._at, self._at + times
            shown = min(self._at, stop) - max(begin, first)
            if shown > 0:
                found.append(Wanted(shown, recipe))
        return tuple(found)


def _together(outlets: Iterable[PieceOutlet], damaged: list[DamagedFrame]) -> Made:
    """Return what the outlets of a piece left behind, as one."""
    whole = Made(damaged=damaged)
    for one in outlets:
        made = one.made()
        whole = Made(
            stores=whole.stores | made.stores,
            digests=whole.digests | made.digests,
            folders=whole.folders | made.folders,
            damaged=damaged,
        )
    return whole
