"""Turns an edition's deliverables into orders: routes chosen, names given, refusals told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime import __version__
from retime.errors import DocumentError
from retime.findings import Finding
from retime.render.flagging import Flagging, flagging_of
from retime.render.names import container_of, final_path, work_path
from retime.render.order import Order
from retime.render.route import route_of

if TYPE_CHECKING:
    from pathlib import Path

    from retime.edition.edition import Edition, Making

__all__ = ["orders_of"]


def orders_of(edition: Edition, folder: Path) -> tuple[Order, ...]:
    """Return the orders of all deliverables of an edition, to be made in ``folder``.

    Raises DocumentError where a profile cannot be met by any route.
    """
    orders, refused = [], []
    for making in edition.makings:
        choice = route_of(edition, making)
        if choice.route is None or making.picture is None:
            place = making.deliverable.where.of("profile")
            hint = "ffv1-master keeps every bit of a scan that cannot be copied"
            refused.append(
                Finding(
                    place=place,
                    rule="route",
                    text=f"{making.profile.name} cannot be made from these scans: {choice.reason}",
                    hint=hint,
                )
            )
            continue
        final = final_path(edition, making, folder)
        flags = flagging_of(making)
        orders.append(
            Order(
                name=making.name,
                profile=making.profile,
                plan=making.plan,
                choice=choice,
                picture=making.picture,
                container=container_of(edition, making),
                final=final,
                work=work_path(final),
                metadata=_metadata(edition, making),
                place=making.deliverable.where.of("profile"),
                drop_frame=making.drop_frame,
                scanning=making.scanning,
                start=making.start,
                timecode=making.deliverable.timecode,
                transfer=making.transfer,
                flags=flags if isinstance(flags, Flagging) else None,
            )
        )
    if refused:
        raise DocumentError(refused)
    return tuple(orders)


def _metadata(edition: Edition, making: Making) -> dict[str, str]:
    """Return what a file says of itself; the comment is what every container carries."""
    about = (
        f"version {making.deliverable.version}, deliverable {making.name}, "
        f"map sha256 {edition.speed_map.sha256}, retime {__version__}"
    )
    return {"title": edition.speed_map.film, "comment": about}
