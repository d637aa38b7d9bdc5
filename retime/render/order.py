"""What a render is asked to make: one order a deliverable, everything decided."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from pathlib import Path

    from retime.film.scanning import Scanning
    from retime.film.speed import Rate
    from retime.light.format import PictureFormat
    from retime.light.transfer import Transfer
    from retime.plan.plan import Plan
    from retime.profile.model import Profile
    from retime.render.route import Choice

__all__ = ["Order"]


class Order(Struct, frozen=True, kw_only=True):
    """One deliverable to be made.

    ``final`` is the file, or the folder of a sequence, that it becomes; ``work`` where it is
    written until it is complete, in the same folder. ``container`` is the ending, or
    ``sequence``. ``picture`` is the format of its pictures. ``metadata`` is what its file says
    of itself. ``start`` is the number of the first label; ``transfer`` is known where it has to be.
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
    scanning: Scanning
    start: int
    transfer: Transfer | None

    @property
    def rate(self) -> Rate:
        """The deliverable's own rate."""
        return self.plan.conform.rate

    @property
    def stands_alone(self) -> bool:
        """Whether each of its coded pictures stands alone, and can be written as often as shown."""
        return self.profile.codec is not None and self.profile.codec.intra
