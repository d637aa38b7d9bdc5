"""Makes all orders of a call: the scans go by, everything that wants a picture takes it."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from retime.render.completing import apart, by_final_name, complete, left, tidy
from retime.render.cutting import cuts_of_passes
from retime.render.damage import Damage, tell_damage
from retime.render.damage_list import with_damage
from retime.render.failures import Failures
from retime.render.film import film_frames
from retime.render.finals import drop_old_list, finals_of, make_final, renamed, reserved
from retime.render.journal import forget_pieces
from retime.render.means import Means
from retime.render.names import check_free
from retime.render.passage import Manner, Passage
from retime.render.sinks import passes
from retime.render.witness import check_unchanged, stamps_of

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from retime.edition.edition import Edition
    from retime.errors import RetimeError
    from retime.render.order import Order
    from retime.render.pieced import Pieced
    from retime.render.progress import Progress
    from retime.render.sinks import Pass

__all__ = ["Job", "finals_of", "render"]


def render(
    edition: Edition,
    orders: Sequence[Order],
    progress: Progress,
    *,
    force: bool,
    means: Means | None = None,
) -> dict[str, RetimeError]:
    """Make every order; each appears under its final name when it is complete.

    Whatever stops the work, an interrupt included, leaves nothing under a final name that is not
    complete, and behind it at most the finished pieces of a long film. Returns what failed, by
    deliverable, where the others were to go on. Raises ScanError, OutputError, or what the user's
    interrupt raised.
    """
    job = Job(edition, orders, means or Means())
    job.check_free(force=force)
    return job.run(progress, force=force)


class Job:
    """A render that is thought through, and not begun."""

    def __init__(self, edition: Edition, orders: Sequence[Order], means: Means) -> None:
        """Find the passes, cut them into pieces, and see what of them is there already."""
        self._edition = edition
        self._orders = orders
        self._means = means
        self._stamps = stamps_of(edition.scans)
        self._passes = passes(orders)
        self._damage = Damage(means.damaged)
        self._pieced = self._in_pieces()

    def _in_pieces(self) -> Pieced | None:
        cuts = cuts_of_passes(self._edition.scans, self._passes, self._means.pieces)
        if cuts is None:
            return None
        from retime.render.pieced import Pieced  # noqa: PLC0415 - pools take a while to import

        return Pieced(self._edition, self._passes, cuts, self._stamps, self._means)

    def check_free(self, *, force: bool) -> None:
        """Raise OutputError for a name that may not be written to, or, unforced, is taken."""
        own = set() if self._pieced is None else self._pieced.own_finals()
        finals = [final for final in reserved(self._orders) if final not in own]
        check_free(self._edition, finals, force=force)

    @property
    def orders(self) -> list[Order]:
        """The orders; once they are made, those that damaged frames are shown in have its list."""
        found = self._damage.found if self._pieced is None else self._pieced.damaged
        return [with_damage(self._edition, order, found) for order in self._orders]

    @property
    def stored(self) -> Sequence[Sequence[Order]]:
        """The orders whose packets are kept until they are joined, by what they are kept in."""
        return [] if self._pieced is None else self._pieced.stored

    @property
    def bytes_there(self) -> int:
        """How much of the disk is taken by what an earlier call has finished."""
        return 0 if self._pieced is None else self._pieced.bytes_there

    @property
    def unheard(self) -> Collection[str]:
        """The deliverables whose sound was not measured, as an earlier call had written it."""
        return () if self._pieced is None else self._pieced.unheard

    def run(self, progress: Progress, *, force: bool) -> dict[str, RetimeError]:
        """Make it all; return what failed, as ``render``."""
        note = _note(self._orders, self._passes)
        if self._pieced is not None:
            return self._pieced.run(progress, note, force=force)
        if self._means.cluster is not None:
            self._means.tell("too short to be cut into pieces: made here, not on the cluster")
        progress.start(sum(_frames(one) for one in self._passes), note)
        failed: dict[str, RetimeError] = {}
        for one in self._passes:
            failures = Failures(
                [order.name for order in one.orders], keep_going=self._means.keep_going
            )
            with tidy(one.orders, [work for order in one.orders for work in order.works]):
                manner = Manner(frames=partial(film_frames, damage=self._damage))
                Passage(self._edition, one, manner, failures).run(progress)
                check_unchanged(self._edition.scans, self._stamps)
                self._finish(one, failures, force=force)
            failed |= {
                name: by_final_name(error, one.orders) for name, error in failures.known.items()
            }
        forget_pieces(self._orders)
        progress.finish()
        tell_damage(self._damage.found, self._means.tell)
        return failed

    def _finish(self, made: Pass, failures: Failures, *, force: bool) -> None:
        orders = [with_damage(self._edition, one, self._damage.found) for one in made.orders]
        for order in left(orders, failures):
            with apart(order, failures):
                complete(order)
        for order in left(orders, failures):
            with apart(order, failures):
                for work, final in renamed(order):
                    make_final(work, final, force=force)
                drop_old_list(order, force=force)


def _frames(made: Pass) -> int:
    return sum(run.last - run.first + 1 for run in made.runs().values())


def _note(orders: Sequence[Order], planned: Sequence[Pass]) -> str:
    what = f"{len(orders)} deliverables" if len(orders) > 1 else orders[0].name
    if len(planned) == 1:
        return f"{what}, in one pass over the scans"
    why = "a bounded number of long-GOP encoders is open at once"
    if len({one.reading for one in planned}) > 1:
        why = "versions play the scans in orders that are at odds"
    return f"{what}, in {len(planned)} passes: {why}"
