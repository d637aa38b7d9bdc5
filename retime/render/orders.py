"""Turns an edition's deliverables into orders: routes chosen, names given, refusals told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime import __version__
from retime.errors import DocumentError, NotationError
from retime.film.timecode import label
from retime.findings import Finding
from retime.picture.burning import check_burn
from retime.render.captions import Captions
from retime.render.flagging import Flagging, flagging_of
from retime.render.following import accompanied
from retime.render.names import container_of, final_path, work_path
from retime.render.order import Order
from retime.render.parts import part_outputs
from retime.render.reading import readings_of
from retime.render.route import Choice, route_of
from retime.render.sources import sources_of

if TYPE_CHECKING:
    from pathlib import Path

    from retime.edition.edition import Edition, Making
    from retime.light.format import PictureFormat
    from retime.picture.burning import TextExtent
    from retime.render.parts import Part
    from retime.render.reading import Places, Reading

__all__ = ["orders_of"]


def orders_of(edition: Edition, folder: Path, part: Part | None = None) -> tuple[Order, ...]:
    """Return the orders of an edition's deliverables, or of a part of each, made in ``folder``.

    Raises DocumentError where a profile cannot be met by any route, or what is to be burnt in
    does not fit; CommandError where a deliverable has no such part.
    """
    orders: list[Order] = []
    refused: list[Finding] = []
    timelines = [making.plan.timeline for making in edition.makings]
    numbers = {scan.reel.name: number for number, scan in enumerate(edition.scans)}
    for making, read in zip(edition.makings, readings_of(timelines, numbers), strict=True):
        try:
            order = _order(edition, making, read, folder)
            if part is not None:
                order = _part_of(edition, making, order, part)
            orders.append(accompanied(edition, making, order))
        except DocumentError as error:
            refused += error.findings
    if refused:
        raise DocumentError(refused)
    return tuple(orders)


def _order(edition: Edition, making: Making, read: tuple[Reading, Places], folder: Path) -> Order:
    choice, picture, facts = route_of(making), making.picture, making.scans[0].facts
    if choice.route is None or picture is None or facts is None:
        raise _no_route(making, choice)
    reading, places = read
    used = [scan.reel.name for scan in making.scans]
    final = final_path(edition, making, folder)
    flags = flagging_of(making)
    captions, extent = _captions(edition, making, picture)
    return Order(
        name=making.name,
        profile=making.profile,
        plan=making.plan,
        choice=choice,
        picture=picture,
        sources=sources_of(making, picture, places),
        reading=reading,
        scans=tuple(number for number, scan in enumerate(edition.scans) if scan.reel.name in used),
        template=facts,
        outputs=range(making.plan.total),
        container=container_of(making),
        final=final,
        work=work_path(final),
        metadata=_metadata(edition, making),
        place=making.deliverable.where.of("profile"),
        drop_frame=making.drop_frame,
        scanning=making.scanning,
        start=making.start,
        timecode=making.timecode,
        transfer=making.transfer,
        flags=flags if isinstance(flags, Flagging) else None,
        captions=captions,
        extent=extent,
    )


def _no_route(making: Making, choice: Choice) -> DocumentError:
    text = f"{making.profile.name} cannot be made from these scans: {choice.reason}"
    hint = "ffv1-master keeps every bit of a scan that cannot be copied"
    place = making.deliverable.where.of("profile")
    return DocumentError([Finding(place=place, rule="route", text=text, hint=hint)])


def _captions(
    edition: Edition, making: Making, picture: PictureFormat
) -> tuple[Captions | None, TextExtent | None]:
    """Return what is burnt in, in as few lines as fit, and how much room the longest takes.

    Raises DocumentError if it fits in no number of lines.
    """
    items = len(making.deliverable.burn)
    refusal: NotationError | None = None
    for in_line in range(items, 0, -1):
        captions = Captions(edition, making, in_line)
        extent = captions.extent()
        try:
            check_burn(picture, extent)
        except NotationError as error:
            refusal = refusal or error
            continue
        return captions, extent
    if refusal is None:
        return None, None
    place = making.deliverable.where.of("burn")
    raise DocumentError(
        [Finding(place=place, rule="burn", text=refusal.text, hint=refusal.hint)]
    ) from refusal


def _part_of(edition: Edition, making: Making, order: Order, part: Part) -> Order:
    """Return the order of a part, whose labels are those that it has in the whole."""
    outputs = part_outputs(edition, making, part)
    start = order.start + outputs.start
    labelled = order.rate.nominal.fps.denominator == 1
    final = order.final.with_name(f"{order.final.stem}{part.suffix}{order.final.suffix}")
    if order.container == "sequence":
        final = order.final.with_name(f"{order.final.name}{part.suffix}")
    choice = order.choice
    if order.flags:
        reason = "no repeat flags in a part: a picture's fields may reach across its ends"
        choice = Choice(route=choice.route, reason=reason)
    return replace(
        order,
        choice=choice,
        outputs=outputs,
        start=start,
        timecode=label(start, order.rate, drop=order.drop_frame) if labelled else None,
        flags=None,
        final=final,
        work=work_path(final),
        metadata=order.metadata | {"comment": f"{order.metadata['comment']}, {part.said}"},
    )


def _metadata(edition: Edition, making: Making) -> dict[str, str]:
    """Return what a file says of itself; the comment is what every container carries."""
    about = (
        f"version {making.deliverable.version}, deliverable {making.name}, "
        f"map sha256 {edition.speed_map.sha256}, retime {__version__}"
    )
    return {"title": edition.speed_map.film, "comment": about}
