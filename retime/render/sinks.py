"""Groups orders by what they are fed: coded pictures, shared encoders, encoders of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct, field

from retime.media.encoder import EncoderSettings
from retime.render.recipe import frames_of
from retime.render.route import Route

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from retime.light.burn_place import BurnPlace
    from retime.picture.burning import TextExtent
    from retime.render.order import Order
    from retime.render.reading import Reading, Run

__all__ = ["MOST_LONG_GOP", "Pass", "Pictures", "encoder_settings", "passes"]

MOST_LONG_GOP = 4
"""How many long-GOP encoders are open at once: each holds some 450 MB at 1920x1080."""


class Pictures(NamedTuple):
    """What coded pictures have in common that deliverables can share."""

    settings: EncoderSettings
    burn_place: BurnPlace | None
    captions: TextExtent | None


class Pass(Struct, kw_only=True):
    """What is made while the scans go by once, in one reading.

    ``read`` is what of it is read, None for all that the orders show.
    """

    reading: Reading
    copies: list[Order] = field(default_factory=list)
    shared: dict[Pictures, list[Order]] = field(default_factory=dict)
    streams: list[Order] = field(default_factory=list)
    read: Mapping[int, Run] | None = None

    @property
    def orders(self) -> list[Order]:
        """All that the pass makes."""
        return [*self.copies, *self.encoded]

    @property
    def encoded(self) -> list[Order]:
        """All that the pass makes pictures for."""
        return [*(one for group in self.shared.values() for one in group), *self.streams]

    def runs(self) -> Mapping[int, Run]:
        """Return what is read, by number: what parts of deliverables show, or all."""
        if self.read is not None:
            return self.read
        if all(order.whole for order in self.orders):
            return dict(enumerate(self.reading.runs))
        return self.reading.trimmed(
            place
            for order in self.orders
            for wanted in order.pictures()
            for place in frames_of(wanted.recipe)
        )


def passes(orders: Iterable[Order]) -> list[Pass]:
    """Return as few passes as readings and the number of open long-GOP encoders allow."""
    readings: dict[Reading, list[Order]] = {}
    for order in orders:
        readings.setdefault(order.reading, []).append(order)
    return [one for reading, inside in readings.items() for one in _passes(reading, inside)]


def _passes(reading: Reading, orders: Iterable[Order]) -> list[Pass]:
    made = [Pass(reading=reading)]
    for order in orders:
        match order.choice.route:
            case Route.COPY:
                made[0].copies.append(order)
            case Route.ENCODE_ONCE | Route.STREAM if order.stands_alone:
                look = order.look()
                alike = Pictures(encoder_settings(order), look.burn_place, look.captions)
                made[0].shared.setdefault(alike, []).append(order)
            case _:
                if len(made[-1].streams) == MOST_LONG_GOP:
                    made.append(Pass(reading=reading))
                made[-1].streams.append(order)
    return made


def encoder_settings(order: Order) -> EncoderSettings:
    """Return what the encoder of an order is told; its codec is known."""
    profile = order.profile
    if profile.codec is None:
        raise TypeError(f"{profile.name} has no encoder")
    return EncoderSettings(
        encoder=profile.codec.encoder,
        options=tuple(profile.encoder_options().items()),
        tag=profile.variant.tag if profile.variant else None,
        threads=profile.threads,
        picture=order.picture,
        scanning=order.scanning,
        rate=None if profile.codec.intra else order.rate,
    )
