"""What a render is asked to make: one order a deliverable, everything decided."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from pathlib import Path

    from retime.film.speed import Rate
    from retime.light.format import PictureFormat
    from retime.plan.plan import Plan
    from retime.profile.model import Profile
    from retime.render.route import Choice

__all__ = ["Order"]


class Order(Struct, frozen=True, kw_only=True):
    """One deliverable to be made.

    ``final`` is the file, or the folder of a sequence, that it becomes; ``work`` where it is
    written until it is complete, in the same folder. ``container`` is the ending, or
    ``sequence``. ``picture`` is the format of its pictures. ``metadata`` is what its file says
    of itself.
    """

    name: str
    profile: Profile
    plan: Plan
    choice: Choice
    picture: PictureFormat
    container: str
    final: Path
    work: Path
    metadata: dict[str, str]
    drop_frame: bool

    @property
    def rate(self) -> Rate:
        """The deliverable's own rate."""
        return self.plan.conform.rate
