"""What is done to a deliverable once its pictures are written, before it has its name."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

from retime.errors import OutputError, RetimeError
from retime.media.writing import flush_to_disk, writing
from retime.render.disc import check_disc
from retime.render.finals import remove, renamed

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from retime.render.failures import Failures
    from retime.render.order import Order

__all__ = ["apart", "by_final_name", "complete", "left", "tidy"]


def complete(order: Order) -> None:
    """Hold a disc against its limits, and write what stands beside a deliverable."""
    check_disc(order)
    for one in order.beside:
        with writing(one.final):
            one.write(one.work)
            flush_to_disk(one.work)


def left(orders: Iterable[Order], failures: Failures) -> list[Order]:
    """Return the orders that have not failed."""
    return [order for order in orders if order.name not in failures.known]


@contextmanager
def apart(order: Order, failures: Failures) -> Iterator[None]:
    """Do something for one order; what goes wrong there is told to ``failures``."""
    try:
        yield
    except RetimeError as error:
        failures.take([order.name], error)


@contextmanager
def tidy(orders: Sequence[Order], works: Sequence[Path]) -> Iterator[None]:
    """Remove what is unfinished, before the work and after it, whatever happened."""
    try:
        for work in works:
            remove(work)
        yield
    except OutputError as error:
        raise by_final_name(error, orders) from error
    finally:
        for work in works:
            remove(work)


def by_final_name(error: RetimeError, orders: Sequence[Order]) -> RetimeError:
    """Return the error about the deliverable, rather than about a hidden file that is gone."""
    if not isinstance(error, OutputError):
        return error
    for order in orders:
        for work, final in renamed(order):
            if work in {error.path, *error.path.parents}:
                return OutputError(final, error.text, error.hint, error.detail)
    return error
