"""What a render is asked to make: one order a deliverable, everything decided."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.render.recipe import wanted

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from retime.film.scanning import Scanning
    from retime.film.speed import Rate
    from retime.findings import Place
    from retime.light.format import PictureFormat
    from retime.light.transfer import Transfer
    from retime.plan.plan import Plan
    from retime.profile.model import Profile
    from retime.render.flagging import Flagging
    from retime.render.recipe import Wanted
    from retime.render.route import Choice

__all__ = ["Order"]


class Order(Struct, frozen=True, kw_only=True):
    """One deliverable to be made.

    ``final`` is the file, or the folder of a sequence, that it becomes; ``work`` where it is
    written until it is complete, in the same folder. ``container`` is the ending, or
    ``sequence``. ``picture`` is the format of its pictures. ``metadata`` is what its file says
    of itself. ``place`` is where the map asks for its profile.
    ``start`` is the number of the first label, ``timecode`` that label
    where the map states it; ``transfer`` is known where it has to be.
    ``flags`` say how repeat flags carry it, where they do.
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
    place: Place
    drop_frame: bool
    scanning: Scanning
    start: int
    timecode: str | None
    transfer: Transfer | None
    flags: Flagging | None = None

    @property
    def rate(self) -> Rate:
        """The deliverable's own rate."""
        return self.plan.conform.rate

    @property
    def coded(self) -> int:
        """How many coded pictures there are: fewer than output frames where flags repeat them."""
        return len(self.flags.runs) if self.flags else self.plan.outputs

    def pictures(self) -> Iterable[Wanted]:
        """Return what its pictures are made of, in order."""
        return self.flags.pictures if self.flags else wanted(self.plan)

    def starts(self) -> frozenset[int]:
        """Return the coded pictures that begin a closed group for a chapter's sake: each reel's."""
        if self.flags:
            return self.flags.starts
        if self.profile.disc is None:
            return frozenset()
        return frozenset((first + 1) // 2 for first, _ in self.plan.reel_fields())

    @property
    def stands_alone(self) -> bool:
        """Whether each of its coded pictures stands alone, and can be written as often as shown."""
        return self.profile.codec is not None and self.profile.codec.intra
