"""Holds what was made for a disc against the disc's limits, by reading it back."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.errors import DocumentError
from retime.media.disc_check import disc_findings
from retime.media.disc_picture import Promised

if TYPE_CHECKING:
    from retime.render.order import Order

__all__ = ["check_disc"]

_HINT = "give it a profile of your own that keeps within the limits"


def check_disc(order: Order) -> None:
    """Read a disc's stream back from the work file.

    Raises DocumentError at the line that asks for the profile where the stream breaks a limit, or
    is not what was planned.
    """
    disc, codec = order.profile.disc, order.profile.codec
    if disc is None or codec is None:
        return
    faults = [
        replace(one, place=order.place, text=f"{order.name}: {one.text}", hint=one.hint or _HINT)
        for one in disc_findings(order.work, codec.name, disc, _promised(order))
    ]
    if faults:
        raise DocumentError(faults)


def _promised(order: Order) -> Promised:
    picture = order.picture
    aspect = picture.sample_aspect or Fraction(1)
    shape = Fraction(order.picture.active_width or picture.width, picture.height) * aspect
    return Promised(
        container=order.container,
        rate=order.rate,
        raster=(picture.width, picture.height),
        sample_aspect=aspect,
        display_aspect=order.profile.display_aspect or shape,
        scanning=order.scanning,
        fields=2 * len(order.outputs),
        starts=frozenset(_chapters(order)),
    )


def _chapters(order: Order) -> set[int]:
    """Return the fields at which chapters begin, or can: the first whole frame of every reel.

    They are counted from the first that is made.
    """
    begin, stop = 2 * order.outputs.start, 2 * order.outputs.stop
    firsts = [first for first, _ in order.plan.reel_fields()]
    if order.flags is None:
        firsts = [first + first % 2 for first in firsts]
    reels = {first - begin for first in firsts if begin <= first < stop}
    return reels if order.flags is not None else reels | {2 * mark for mark in order.marks}
