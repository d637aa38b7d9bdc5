"""A render in pieces: made by whoever there is, joined as they come, gone on with after a stop."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.render.cluster import Cluster
from retime.render.completing import apart, by_final_name, complete, left, tidy
from retime.render.crew import Alone, Crew, Pool, cores
from retime.render.damage import tell_damage
from retime.render.damage_list import with_damage
from retime.render.decisions import decisions_of
from retime.render.failures import Failures
from retime.render.finals import can_be_named, is_ours, name_all, renamed
from retime.render.joining import Joining
from retime.render.journal import Journal, pieces_folder
from retime.render.passage import Passage
from retime.render.piece_files import Made, is_whole
from retime.render.piece_work import Brief, Task
from retime.render.progress import Silent
from retime.render.sinks import Pass
from retime.render.witness import check_unchanged

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from retime.edition.edition import Edition
    from retime.errors import RetimeError
    from retime.render.damage import DamagedFrame
    from retime.render.means import Means
    from retime.render.order import Order
    from retime.render.piece_work import Ended
    from retime.render.pieces import Cut
    from retime.render.progress import Progress
    from retime.render.witness import Stamp

__all__ = ["Pieced"]

_ON_CLUSTER = 2
"""Threads of a decoder, where the worker's machine is not known."""


class Pieced:
    """The passes of a render, their pieces, and the journal of those that are finished."""

    def __init__(
        self,
        edition: Edition,
        passes: Sequence[Pass],
        cuts: Sequence[Cut],
        stamps: Mapping[str, Stamp],
        means: Means,
    ) -> None:
        """Read the journal, if there is one; nothing is written yet.

        ``unheard`` will be the orders whose sound an earlier call has written and measured.
        """
        orders = [order for one in passes for order in one.orders]
        self._edition = edition
        self._folder = pieces_folder(orders)
        self._passes = [_kept_in(self._folder, one) for one in passes]
        self._cuts = cuts
        self._stamps = stamps
        self._means = means
        decisions = decisions_of(edition, orders, cuts, stamps)
        decisions["what damaged frames do"] = means.damaged
        self._journal = Journal(self._folder, decisions)
        self._damaged: set[DamagedFrame] = set()
        self.unheard: set[str] = set()

    @property
    def stored(self) -> list[list[Order]]:
        """The orders whose packets stand in stores until they are joined, by the stores."""
        shared = [group for one in self._passes for group in one.shared.values()]
        movies = [[one for one in group if one.container != "sequence"] for group in shared]
        streams = [[order] for one in self._passes for order in one.streams]
        return [group for group in (*movies, *streams) if group]

    @property
    def bytes_there(self) -> int:
        """How much of the disk is taken by what is finished already."""
        files = self._folder.rglob("*") if self._journal.pieces else ()
        return sum(path.stat().st_size for path in files if path.is_file())

    @property
    def damaged(self) -> set[DamagedFrame]:
        """All frames of scans that something is known to stand in for."""
        kept = (frame for made in self._journal.pieces.values() for frame in made.damaged)
        return {*self._damaged, *self._journal.damaged, *kept}

    def _listed(self, made: Pass) -> list[Order]:
        """Return a pass's orders, with the lists of the damaged frames that they show."""
        return [with_damage(self._edition, order, self.damaged) for order in made.orders]

    def own_finals(self) -> set[Path]:
        """Return the names that this very render has given already."""
        return {
            final
            for number, made in enumerate(self._passes)
            if self._journal.is_made(number) or self._journal.is_complete(number)
            for order in self._listed(made)
            for work, final in renamed(order)
            if is_ours(work, final)
        }

    def run(self, progress: Progress, note: str, *, force: bool) -> dict[str, RetimeError]:
        """Make it all; return what failed, by deliverable."""
        failed: dict[str, RetimeError] = {}
        crew: Crew | None = None
        try:
            self._resume()
            progress.start(sum(map(self._frames, range(len(self._passes)))), note)
            crew = self._crew()
            for number in range(len(self._passes)):
                failed |= self._pass(number, crew, progress, force=force)
        except BaseException:
            self._leave(crew)
            raise
        crew.close()
        self._journal.forget()
        tell_damage(self.damaged, self._means.tell)
        progress.finish()
        return failed

    def _resume(self) -> None:
        """Open the journal, and say what of it is of use."""
        journal, tell = self._journal, self._means.tell
        if journal.differences:
            tell(f"begun anew, not gone on with: {journal.told_differences} changed")
        journal.open()
        for number, made in enumerate(self._passes):
            finals = [final for order in self._listed(made) for _, final in renamed(order)]
            if journal.is_made(number) and not all(map(os.path.lexists, finals)):
                journal.unmake(number)
        there = {
            task.name: task for number in range(len(self._cuts)) for task in self._tasks(number)
        }
        spoilt = [
            name
            for name, made in journal.pieces.items()
            if name not in there or not self._is_whole(there[name], made)
        ]
        journal.drop(spoilt)
        if spoilt:
            tell(f"{len(spoilt)} pieces are not as they were left, and are made again")
        if journal.pieces:
            tell(f"goes on: {len(journal.pieces)} of {len(there)} pieces are there already")

    def _is_whole(self, task: Task, made: Made) -> bool:
        orders = {order.name: order for order in self._passes[task.number].encoded}
        outputs = {name: range(*span) for name, span in task.piece.outputs.items()}
        return is_whole(made, self._folder, orders, outputs)

    def _leave(self, crew: Crew | None) -> None:
        """Let everybody go, and keep what is finished."""
        if crew is not None:
            crew.close()
        self._journal.take_note()
        if not self._journal.holds_anything:
            self._journal.forget()
            return
        kept, pieces = len(self._journal.pieces), sum(len(one.pieces) for one in self._cuts)
        self._means.tell(
            f"{kept} of {pieces} pieces are finished and kept: the same command goes on from "
            f"there; to forget them, remove {self._folder}"
        )

    def _crew(self) -> Crew:
        pieces = max(len(one.pieces) for one in self._cuts)
        workers = min(self._means.workers or cores(), pieces)
        cluster = self._means.cluster
        brief = Brief(
            edition=self._edition,
            passes=tuple(self._passes),
            folder=self._folder,
            stamps=self._stamps,
            threads=_ON_CLUSTER if cluster else max(1, cores() // workers),
            keep_going=self._means.keep_going,
            damaged=self._means.damaged,
        ).packed()
        if cluster is not None:
            return Cluster(brief, self._folder, cluster)
        return Alone(brief) if workers == 1 else Pool(brief, workers, self._means.tell)

    def _tasks(self, number: int) -> list[Task]:
        return [Task(number=number, piece=piece) for piece in self._cuts[number].pieces]

    def _frames(self, number: int) -> int:
        """Return how many film frames go by for a pass; copies beside pieces are not counted."""
        pieces = self._cuts[number].pieces
        runs = self._passes[number].runs().values() if not pieces else ()
        copied = sum(run.last - run.first + 1 for run in runs)
        return copied + sum(piece.frames for piece in pieces)

    def _pass(
        self, number: int, crew: Crew, progress: Progress, *, force: bool
    ) -> dict[str, RetimeError]:
        made, journal = self._passes[number], self._journal
        orders = self._listed(made)
        if journal.is_made(number) or (journal.is_complete(number) and can_be_named(orders)):
            progress.advance(self._frames(number))
            self.unheard.update(order.name for order in made.orders)
            if not journal.is_made(number):
                name_all(orders, force=force)
                journal.make(number)
            return {}
        journal.complete(number, done=False)
        failures = Failures(
            [order.name for order in made.orders], keep_going=self._means.keep_going
        )
        works = [work for order in made.orders for work in order.works]
        works = [work for work in works if self._folder not in work.parents]
        with tidy(made.orders, works):
            self._make(number, crew, progress, failures)
            orders = self._listed(made)
            for order in left(orders, failures):
                with apart(order, failures):
                    complete(order)
            going = left(orders, failures)
            if not failures.known:
                works.clear()  # from here on they are kept, whatever happens
                journal.complete(number)
            name_all(going, force=force)
        journal.make(number)
        return {name: by_final_name(error, made.orders) for name, error in failures.known.items()}

    def _make(self, number: int, crew: Crew, progress: Progress, failures: Failures) -> None:
        """Make the files of a pass, complete but for what stands beside them."""
        made, pieces = self._passes[number], self._cuts[number].pieces
        tasks = [task for task in self._tasks(number) if task.name not in self._journal.pieces]
        tasks.sort(key=lambda task: not task.piece.whole)  # what takes longest is begun first
        crew.begin(tasks)
        if made.copies:
            copied = Pass(reading=made.reading, copies=made.copies)
            Passage(self._edition, copied, failures=failures).run(Silent() if pieces else progress)
        joining = Joining(made, self._folder, failures)
        try:
            there = self._there(number)
            progress.advance(sum(pieces[one].frames for one in there))
            at = self._join(joining, number, 0, there)
            for ended in crew.ended(progress):
                there[ended.task.piece.number] = self._taken(ended, joining, failures)
                at = self._join(joining, number, at, there)
            joining.finish()
        except BaseException:
            joining.abandon()
            raise
        check_unchanged(self._edition.scans, self._stamps)

    def _there(self, number: int) -> dict[int, Made]:
        """Return the finished pieces of a pass, by their numbers."""
        known = self._journal.pieces
        return {
            task.piece.number: known[task.name]
            for task in self._tasks(number)
            if task.name in known
        }

    def _taken(self, ended: Ended, joining: Joining, failures: Failures) -> Made:
        for name, error in ended.failed.items():
            failures.take([name], error)
        joining.drop(ended.failed)
        if not ended.failed:
            self._journal.add(ended.task.name, ended.made)
        return ended.made

    def _join(self, joining: Joining, number: int, at: int, there: dict[int, Made]) -> int:
        """Join the pieces that are next; return which comes after them."""
        pieces = self._cuts[number].pieces
        while at in there:
            self._damaged |= set(there[at].damaged)
            joining.take(pieces[at], there.pop(at))
            at += 1
        return at


def _kept_in(folder: Path, made: Pass) -> Pass:
    """Return a pass whose numbered files are written among the pieces until all are there."""

    def kept(orders: Iterable[Order]) -> list[Order]:
        return [
            replace(order, work=folder / order.final.name)
            if order.container == "sequence"
            else order
            for order in orders
        ]

    shared = {alike: kept(orders) for alike, orders in made.shared.items()}
    return Pass(reading=made.reading, copies=made.copies, shared=shared, streams=made.streams)
