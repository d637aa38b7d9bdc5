"""What a render is asked to make: one order a deliverable, everything decided."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.edition.damage import list_path
from retime.render.composer import Look
from retime.render.names import work_path
from retime.render.recipe import Recipe, Wanted

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator
    from pathlib import Path

    from retime.film.scanning import Scanning
    from retime.film.speed import Rate
    from retime.findings import Place
    from retime.follow.loudness import Meter
    from retime.light.format import PictureFormat
    from retime.light.transfer import Transfer
    from retime.media.facts import ScanFacts
    from retime.media.movie_writer import Companion, NamedPlace
    from retime.picture.burning import TextExtent
    from retime.plan.plan import Plan
    from retime.profile.model import Profile
    from retime.render.beside import Beside
    from retime.render.captions import Captions
    from retime.render.flagging import Flagging
    from retime.render.reading import Place as FramePlace
    from retime.render.reading import Reading
    from retime.render.route import Choice
    from retime.render.sources import Sources

__all__ = ["Order"]


class Order(Struct, frozen=True, kw_only=True):
    """One deliverable to be made, or a part of one.

    ``final`` is the file, or the folder of a sequence, that it becomes; ``work`` where it is
    written until it is complete, in the same folder. ``container`` is the ending, or
    ``sequence``. ``picture`` is the format of its pictures, ``sources`` where they come from in
    ``reading``, and ``scans`` the numbers of those that it shows, the first giving ``template``,
    the headers of what is copied. ``outputs`` are the output frames that are made, all or a part.
    ``metadata`` is what its file says of itself. ``place`` is where the map asks for its profile.
    ``start`` is the number of the first label, ``timecode`` that label where it is to be told;
    ``transfer`` is known where it has to be. ``flags`` say how repeat flags carry it, where they
    do. ``captions`` give what is burnt in, which takes at most ``extent``. ``company`` opens what
    is written into the same file, ``beside`` what has files of its own. ``chapters`` are written
    into the file, ``marks`` are the output frames, of those that are made, that they begin with.
    ``meters`` measure its recordings, by their files. ``portion`` is what its pictures are made
    of, where that is known already, as it is of a piece.
    """

    name: str
    profile: Profile
    plan: Plan
    choice: Choice
    picture: PictureFormat
    sources: Sources
    reading: Reading
    scans: tuple[int, ...]
    template: ScanFacts
    outputs: range
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
    captions: Captions | None = None
    extent: TextExtent | None = None
    chapters: tuple[NamedPlace, ...] = ()
    marks: frozenset[int] = frozenset()
    company: Callable[[], tuple[Companion, ...]] = tuple
    beside: tuple[Beside, ...] = ()
    meters: tuple[tuple[str, Meter], ...] = ()
    portion: tuple[Wanted, ...] | None = None

    @property
    def works(self) -> tuple[Path, ...]:
        """All that may be written before it has a final name."""
        listed = work_path(list_path(self.final))
        return (self.work, *(one.work for one in self.beside), listed)

    @property
    def rate(self) -> Rate:
        """The deliverable's own rate."""
        return self.plan.conform.rate

    @property
    def whole(self) -> bool:
        """Whether all of the deliverable is made."""
        return len(self.outputs) == self.plan.total

    @property
    def coded(self) -> int:
        """How many coded pictures there are: fewer than output frames where flags repeat them."""
        return len(self.flags.runs) if self.flags else len(self.outputs)

    @property
    def loops(self) -> tuple[tuple[FramePlace, FramePlace], ...]:
        """Spans of film frames that come back after others of the span."""
        return self.sources.places.loops

    def pictures(self) -> Iterable[Wanted]:
        """Return what its pictures are made of, in order."""
        if self.portion is not None:
            return self.portion
        if self.flags:
            return self._flagged(self.flags)
        wanted = self.sources.wanted(self.plan, self.captions)
        return wanted if self.whole else _sliced(wanted, self.outputs)

    def _flagged(self, flags: Flagging) -> Iterator[Wanted]:
        for times, look in flags.pictures:
            yield Wanted(times, Recipe((self.sources.mix_of(look),)))

    def look(self) -> Look:
        """Return how its pictures look."""
        return Look(
            picture=self.picture,
            scanning=self.scanning,
            transfer=self.transfer,
            burn_place=self.profile.burn_place if self.captions else None,
            captions=self.extent,
        )

    def starts(self) -> frozenset[int]:
        """Return the coded pictures that begin a closed group: each reel's and each chapter's."""
        if self.flags:
            return self.flags.starts
        if self.profile.disc is None:
            return frozenset()
        firsts = {(first + 1) // 2 for first, _ in self.plan.reel_fields()}
        reels = (first - self.outputs.start for first in firsts if first in self.outputs)
        return self.marks.union(reels)

    @property
    def stands_alone(self) -> bool:
        """Whether each of its coded pictures stands alone, and can be written as often as shown."""
        return self.profile.codec is not None and self.profile.codec.intra


def _sliced(pictures: Iterable[Wanted], outputs: range) -> Iterator[Wanted]:
    """Yield what is wanted for a part of the output frames."""
    at = 0
    for times, recipe in pictures:
        begin, stop = max(at, outputs.start), min(at + times, outputs.stop)
        at += times
        if begin < stop:
            yield Wanted(stop - begin, recipe)
        if at >= outputs.stop:
            return
