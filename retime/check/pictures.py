"""A deliverable's pictures: read by the second reader, and held against the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.check.film import placed_in
from retime.check.match import match
from retime.check.planned import Planned
from retime.check.plates import Plates
from retime.check.spool import HEIGHT, WIDTH, Spool
from retime.errors import ScanError
from retime.film.scanning import Scanning
from retime.second.pictures import Fields, Source, View, look

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from retime.check.film import Film
    from retime.check.match import Match
    from retime.edition.edition import Making

__all__ = ["Looked", "look_at"]

_LOSSLESS = frozenset({"ffv1", "dpx", "tiff"})


class Looked:
    """What was seen of a deliverable, and how it stands to its plan.

    ``damage`` is what the second reader says of a file that it cannot read all of, else None;
    ``exact`` whether the digests of pictures were told.
    """

    def __init__(
        self,
        planned: Planned,
        found: Match,
        seen: Spool,
        damage: ScanError | None,
        *,
        exact: bool,
    ) -> None:
        """Keep all of it."""
        self.planned, self.match, self.seen = planned, found, seen
        self.damage, self.exact = damage, exact


def look_at(  # noqa: PLR0913 - each of them is another side of it
    making: Making,
    sources: Sequence[Source],
    film: Film,
    seen: Callable[[], None],
    *,
    flagged: bool = False,
    instead: Mapping[str, Mapping[int, int | None]] | None = None,
) -> Looked:
    """Return how the pictures in files, one movie or runs of numbered ones, stand to the plan.

    ``film`` are the scans of the deliverable's edition. ``seen`` is called after each picture;
    ``flagged`` files repeat fields by flags. ``instead`` has, by reels and frames of their scans,
    what is shown for damaged ones, None being black. Raises ScanError where a scan cannot be read.
    """
    cut = placed_in(making)
    exact = _is_exact(making)
    view = View(
        width=WIDTH,
        height=HEIGHT,
        cut=cut,
        fields=_fields(making, flagged=flagged),
        flags=flagged,
        digests=exact,
    )
    spool, damage = Spool(), None
    try:
        for source in sources:
            for picture, digest in look(source, view):
                spool.add(picture, digest)
                seen()
    except ScanError as error:
        damage = error
    planned = Planned(making, film, Plates(film.edition, making, cut), instead or {})
    return Looked(planned, match(planned, spool, exact=exact), spool, damage, exact=exact)


def _is_exact(making: Making) -> bool:
    """Tell whether a deliverable's samples are to be those of the scans."""
    codec = making.profile.codec
    joined = any(scan.sifting is not None and scan.sifting.woven for scan in making.scans)
    if making.deliverable.burn or joined:
        return False
    if codec is None:
        return True
    pictures = {scan.picture for scan in making.scans if scan.picture is not None}
    formats = {(one.pixel_format, one.width, one.height, one.range, one.matrix) for one in pictures}
    made = making.picture
    same = made is not None and formats == {
        (made.pixel_format, made.width, made.height, made.range, made.matrix)
    }
    return same and codec.encoder in _LOSSLESS


def _fields(making: Making, *, flagged: bool) -> Fields:
    if not making.scanning.interlaced:
        return Fields.WHOLE
    if flagged:
        return Fields.TOP if making.scanning is Scanning.TOP_FIRST else Fields.BOTTOM
    return Fields.TOLD
