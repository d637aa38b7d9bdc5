"""Makes all orders of a call: the scans go by, everything that wants a picture takes it."""

from __future__ import annotations

import os
import shutil
from contextlib import contextmanager
from typing import TYPE_CHECKING

from retime.errors import OutputError
from retime.media.writing import flush_to_disk, writing
from retime.render.disc import check_disc
from retime.render.names import check_free, check_replaceable, taken
from retime.render.passage import Passage
from retime.render.sinks import passes

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from retime.edition.edition import Edition
    from retime.render.order import Order
    from retime.render.progress import Progress
    from retime.render.sinks import Pass

__all__ = ["finals_of", "render"]


def render(edition: Edition, orders: Sequence[Order], progress: Progress, *, force: bool) -> None:
    """Make every order; each appears under its final name when it is complete.

    Whatever stops the work, an interrupt included, leaves nothing unfinished behind. Raises
    ScanError, OutputError, or what the user's interrupt raised.
    """
    check_free(edition, finals_of(orders), force=force)
    planned = passes(orders)
    pictures = sum(run.last - run.first + 1 for one in planned for run in one.runs().values())
    progress.start(pictures, _note(orders, planned))
    for one in planned:
        with _tidy(one.orders):
            Passage(edition, one).run(progress)
            for order in one.orders:
                check_disc(order)
                _write_beside(order)
            for order in one.orders:
                for work, final in _renamed(order):
                    _make_final(work, final, force=force)
    progress.finish()


def finals_of(orders: Iterable[Order]) -> list[Path]:
    """Return every name that something is given."""
    return [final for order in orders for _, final in _renamed(order)]


def _renamed(order: Order) -> list[tuple[Path, Path]]:
    """Return what is renamed into what; the deliverable itself comes last."""
    return [*((one.work, one.final) for one in order.beside), (order.work, order.final)]


def _write_beside(order: Order) -> None:
    for one in order.beside:
        with writing(one.final):
            one.write(one.work)
            flush_to_disk(one.work)


def _note(orders: Sequence[Order], planned: Sequence[Pass]) -> str:
    what = f"{len(orders)} deliverables" if len(orders) > 1 else orders[0].name
    if len(planned) == 1:
        return f"{what}, in one pass over the scans"
    why = "a bounded number of long-GOP encoders is open at once"
    if len({one.reading for one in planned}) > 1:
        why = "versions play the scans in orders that are at odds"
    return f"{what}, in {len(planned)} passes: {why}"


@contextmanager
def _tidy(orders: Sequence[Order]) -> Iterator[None]:
    """Remove what is unfinished, before the work and after it, whatever happened."""
    works = [work for order in orders for work in order.works]
    try:
        for work in works:
            _remove(work)
        yield
    except OutputError as error:
        raise _by_final_name(error, orders) from error
    finally:
        for work in works:
            _remove(work)


def _by_final_name(error: OutputError, orders: Sequence[Order]) -> OutputError:
    """Return the error about the deliverable, rather than about a hidden file that is gone."""
    for order in orders:
        for work, final in _renamed(order):
            if work in {error.path, *error.path.parents}:
                return OutputError(final, error.text, error.hint, error.detail)
    return error


def _remove(path: Path) -> None:
    with writing(path, "cannot be removed"):
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        elif os.path.lexists(path):
            path.unlink()


def _make_final(work: Path, final: Path, *, force: bool) -> None:
    """Give what is complete its final name, over nothing that is not meant to go."""
    with writing(final):
        if force:
            _replace(work, final)
        elif work.is_dir():
            _rename_folder(work, final)
        else:
            _link_final(work, final)
        flush_to_disk(final.parent)


def _replace(work: Path, final: Path) -> None:
    """Put a deliverable in the place of what is there, which goes only once that is done."""
    if not (work.is_dir() or final.is_dir()) or not os.path.lexists(final):
        work.replace(final)
        return
    check_replaceable(final)
    old = final.with_name(f".{final.name}.replaced")
    _remove(old)
    try:
        final.rename(old)
        work.rename(final)
    except BaseException:
        if os.path.lexists(old) and not os.path.lexists(final):
            old.rename(final)
        raise
    _remove(old)


def _rename_folder(work: Path, final: Path) -> None:
    """Rename a folder; the system refuses one that has anything in it, and so do we an empty."""
    if os.path.lexists(final):
        raise taken(final)
    try:
        work.rename(final)
    except OSError:
        if os.path.lexists(final):
            raise taken(final) from None
        raise


def _link_final(work: Path, final: Path) -> None:
    """Rename a file without ever replacing another, as no plain rename can promise."""
    try:
        final.hardlink_to(work)
    except FileExistsError:
        raise taken(final) from None
    except OSError:  # a disk without links
        if os.path.lexists(final):
            raise taken(final) from None
        work.rename(final)
    else:
        work.unlink()
