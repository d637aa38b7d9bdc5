"""The flash check of a movie file."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from retime.check.flash_blocks import blocks_of
from retime.check.flash_limits import edges_apart
from retime.check.flash_view import aspect_of, flash_view
from retime.check.flashes import FlashMeter
from retime.errors import ScanError
from retime.film.speed import Rate
from retime.media.count import frame_count
from retime.media.countcache import users_cache
from retime.media.facts import Form
from retime.media.probe import probe
from retime.second.pictures import Fields, Source, look_in_time

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from retime.check.flashes import FlashReport
    from retime.media.facts import ScanFacts

__all__ = ["flashes_of_file", "pictures_of_file"]

_LATE = Fraction(3, 2000)  # what a container that counts milliseconds may be off, and a half more


def pictures_of_file(path: Path) -> int:
    """Return how many pictures of a movie will be seen, fields where it is interlaced.

    Raises ScanError for what is no movie, or is cut short.
    """
    return _count(probe(path))


def flashes_of_file(path: Path, seen: Callable[[], None] | None = None) -> FlashReport:
    """Return the flashes of a movie at the times that it tells; ``seen`` is called a picture.

    Interlaced pictures are seen field by field. Raises ScanError for what is no movie, for numbered
    files, which have no times, and where not all of it can be read.
    """
    facts = probe(path)
    if facts.form is Form.SEQUENCE:
        raise ScanError(
            path, "numbered files do not say how fast they run", "check the map that made them"
        )
    fields, expected = _has_fields(facts), _count(facts)
    view = flash_view(path, facts.picture, fields=Fields.TOLD if fields else Fields.WHOLE)
    told = None if facts.header_rate is None else Rate(facts.header_rate)
    meter = FlashMeter(aspect_of(facts.picture), edges_apart(told))
    a_second = facts.header_rate and facts.header_rate * (2 if fields else 1)
    times = _Times(a_second)
    for cells, at in look_in_time(Source(path=path), view):
        meter.see(blocks_of(cells), times.of(at))
        if seen is not None:
            seen()
    indexed = facts.header_frames is not None  # packets may be of pictures that are never shown
    if times.count < (max(1, expected) if indexed else 1):
        text = f"holds {expected:,} pictures, and {times.count:,} of them could be read"
        raise ScanError(path, text, "it may be cut short or damaged")
    return meter.report(path.name, times.end, rate=times.rate and facts.header_rate)


def _count(facts: ScanFacts) -> int:
    return frame_count(facts, cache=users_cache()) * (2 if _has_fields(facts) else 1)


def _has_fields(facts: ScanFacts) -> bool:
    return facts.picture.field_order not in {None, "progressive"}


class _Times:
    """Exact times out of those that a file tells, which many containers round.

    As long as times are those of the rate in the header but for such rounding, they are exactly
    the rate's; ``rate`` is None once they have not been.
    """

    def __init__(self, rate: Fraction | None) -> None:
        self.count = 0
        self.rate = rate
        self._first = self._last = self._lasted = Fraction(0)

    def of(self, told: Fraction) -> Fraction:
        """Return the time of the next picture, from that of the first on; times rise."""
        if not self.count:
            self._first = told
        time = told - self._first
        if self.rate is not None and abs(time - self.count / self.rate) > _LATE:
            self.rate = None
        time = max(self._last, time if self.rate is None else self.count / self.rate)
        self.count += 1
        self._last, self._lasted = time, time - self._last
        return time

    @property
    def end(self) -> Fraction:
        """When the last picture ends."""
        return self._last + (self._lasted if self.rate is None else 1 / self.rate)
