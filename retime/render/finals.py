"""Gives what is complete its final name, over nothing that is not meant to go."""

from __future__ import annotations

import os
import shutil
from typing import TYPE_CHECKING

from retime.edition.damage import list_path
from retime.media.writing import flush_to_disk, writing
from retime.render.names import check_replaceable, taken

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from retime.render.order import Order

__all__ = [
    "can_be_named",
    "drop_old_list",
    "finals_of",
    "is_ours",
    "make_final",
    "name_all",
    "named_again",
    "remove",
    "renamed",
    "reserved",
]


def finals_of(orders: Iterable[Order]) -> list[Path]:
    """Return every name that something is given."""
    return [final for order in orders for _, final in renamed(order)]


def reserved(orders: Iterable[Order]) -> list[Path]:
    """Return every name that something may be given: a list of damage, if there is any, too."""
    return [name for order in orders for name in (list_path(order.final), *finals_of([order]))]


def renamed(order: Order) -> list[tuple[Path, Path]]:
    """Return what is renamed into what; the deliverable itself comes last."""
    return [*((one.work, one.final) for one in order.beside), (order.work, order.final)]


def is_ours(work: Path, final: Path) -> bool:
    """Tell whether a name was given to something complete that was at ``work`` before."""
    if not os.path.lexists(final):
        return False
    return not os.path.lexists(work) or (work.is_file() and work.samefile(final))


def named_again(work: Path, final: Path, *, force: bool) -> None:
    """Give a name as ``make_final``, where that may have been broken off in the middle."""
    if is_ours(work, final):
        remove(work)
        remove(_aside(final))
    else:
        make_final(work, final, force=force)


def can_be_named(orders: Iterable[Order]) -> bool:
    """Tell whether all that is complete is still there, under its own name or its final one."""
    return all(
        os.path.lexists(work) or is_ours(work, final)
        for order in orders
        for work, final in renamed(order)
    )


def name_all(orders: Iterable[Order], *, force: bool) -> None:
    """Give everything its final name that has not got it."""
    for order in orders:
        for work, final in renamed(order):
            named_again(work, final, force=force)
        drop_old_list(order, force=force)


def drop_old_list(order: Order, *, force: bool) -> None:
    """Remove the list of damage of what was overwritten, where what is there now has none."""
    old = list_path(order.final)
    if not force or any(one.final == old for one in order.beside):
        return
    if old.is_symlink() or old.is_file():
        remove(old)


def _aside(final: Path) -> Path:
    return final.with_name(f".{final.name}.replaced")


def remove(path: Path) -> None:
    """Remove a file or a folder, if it is there."""
    with writing(path, "cannot be removed"):
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        elif os.path.lexists(path):
            path.unlink()


def make_final(work: Path, final: Path, *, force: bool) -> None:
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
    old = _aside(final)
    remove(old)
    try:
        final.rename(old)
        work.rename(final)
    except BaseException:
        if os.path.lexists(old) and not os.path.lexists(final):
            old.rename(final)
        raise
    remove(old)


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
