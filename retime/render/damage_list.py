"""The list beside a deliverable that says what stands in it for frames that do not decode."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.edition.damage import (
    DamageList,
    OutputRun,
    StandIn,
    film_frames_in,
    list_path,
    outputs_showing,
)
from retime.film.timecode import label
from retime.render.beside import Beside
from retime.render.names import work_path
from retime.render.route import Route

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from pathlib import Path

    from retime.edition.edition import Edition
    from retime.edition.scans import ReelScan
    from retime.render.damage import DamagedFrame
    from retime.render.order import Order

__all__ = ["with_damage"]


def with_damage(edition: Edition, order: Order, found: Collection[DamagedFrame]) -> Order:
    """Return an order with the list of the damaged frames that it shows, if it shows any.

    A copy has nothing in their place. ``found`` are all that were found in the edition's scans.
    """
    if not found or order.choice.route is Route.COPY:
        return order
    damaged = tuple(_stand_ins(edition, order, found))
    if not damaged:
        return order
    making = next(one for one in edition.makings if one.name == order.name)
    told = DamageList(
        film=edition.speed_map.film,
        version=making.deliverable.version,
        deliverable=order.name,
        file=order.final.name,
        map_sha256=edition.speed_map.sha256,
        damaged=damaged,
    )
    final = list_path(order.final)
    listed = Beside(final=final, work=work_path(final), write=partial(_write, told))
    return replace(order, beside=(*order.beside, listed))


def _stand_ins(
    edition: Edition, order: Order, found: Collection[DamagedFrame]
) -> Iterator[StandIn]:
    """Yield what stands in, by reels and frames."""
    scans = [edition.scans[number] for number in order.scans]
    frames = [one for scan in scans for one in _frames(scan, found)]
    wanted = {(scan.reel.name, frame) for scan, frame, _ in frames}
    outputs = outputs_showing(order.plan, wanted, order.outputs)
    for scan, frame, damaged in frames:
        runs = outputs.get((scan.reel.name, frame))
        if runs:
            yield StandIn(
                reel=scan.reel.name,
                frame=scan.told(frame),
                scan=damaged.file,
                scan_frame=damaged.frame,
                wrong=damaged.words,
                held=damaged.held,
                outputs=tuple(OutputRun(*run, _label(order, run[0])) for run in runs),
            )


def _frames(
    scan: ReelScan, found: Collection[DamagedFrame]
) -> Iterator[tuple[ReelScan, int, DamagedFrame]]:
    """Yield the film frames of a scan that are damaged."""
    held = {one.frame: one for one in found if scan.facts and one.scan == str(scan.facts.path)}
    yield from ((scan, frame, held[place]) for frame, place in film_frames_in(scan, held))


def _label(order: Order, output: int) -> str:
    if order.rate.nominal.fps.denominator != 1:
        return ""
    return label(order.start + output, order.rate, drop=order.drop_frame)


def _write(told: DamageList, path: Path) -> None:
    from retime.edition.damage_file import damage_text  # noqa: PLC0415 - rarely, and slow to import

    path.write_text(damage_text(told), encoding="utf-8")
