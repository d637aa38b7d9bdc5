"""Groups orders by what they are fed: coded pictures, shared encoders, encoders of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct, field

from retime.media.encoder import EncoderSettings
from retime.render.route import Route

if TYPE_CHECKING:
    from collections.abc import Iterable

    from retime.render.order import Order

__all__ = ["MOST_LONG_GOP", "Pass", "encoder_settings", "passes"]

MOST_LONG_GOP = 4
"""How many long-GOP encoders are open at once: each holds some 450 MB at 1920x1080."""


class Pass(Struct, kw_only=True):
    """What is made while the scans go by once."""

    copies: list[Order] = field(default_factory=list)
    shared: dict[EncoderSettings, list[Order]] = field(default_factory=dict)
    streams: list[Order] = field(default_factory=list)

    @property
    def orders(self) -> list[Order]:
        """All that the pass makes."""
        return [
            *self.copies,
            *(one for group in self.shared.values() for one in group),
            *self.streams,
        ]


def passes(orders: Iterable[Order]) -> list[Pass]:
    """Return as few passes as the number of long-GOP encoders that may be open allows."""
    made = [Pass()]
    for order in orders:
        match order.choice.route:
            case Route.COPY:
                made[0].copies.append(order)
            case Route.ENCODE_ONCE | Route.STREAM if order.stands_alone:
                made[0].shared.setdefault(encoder_settings(order), []).append(order)
            case _:
                if len(made[-1].streams) == MOST_LONG_GOP:
                    made.append(Pass())
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
