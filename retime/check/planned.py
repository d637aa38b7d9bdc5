"""What a deliverable is planned to show, pulse by pulse, as small pictures.

A pulse is an output frame, or a field where the deliverable is interlaced. Pictures are composed
here in the simplest way: a mean of small pictures in the light that their codes stand for, by the
exponent of Rec. ITU-R BT.1886. The renderer does it otherwise, which is the point.
"""

from __future__ import annotations

from collections import OrderedDict
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from retime.check.film import taken_of
from retime.check.spool import HEIGHT, WIDTH, Small

if TYPE_CHECKING:
    from collections.abc import Mapping

    from retime.check.film import Film, Filmed
    from retime.check.plates import Plates
    from retime.edition.edition import Making
    from retime.plan.look import Look, Part

__all__ = ["Planned"]

_EXPONENT = 2.4
_WHITE = 255.0
_KEPT = 256


class Planned:
    """A deliverable's pulses: what each shows, and what that looks like."""

    def __init__(
        self,
        making: Making,
        film: Film,
        plates: Plates,
        instead: Mapping[str, Mapping[int, int | None]],
    ) -> None:
        """Take all pulses; scans are read when a picture of theirs is first asked for.

        ``instead`` has, by reels and frames of their scans, what is shown for damaged ones.
        """
        self._film, self._plates, self.making = film, plates, making
        self._instead = instead
        self.interlaced = making.scanning.interlaced
        self._upper_first = making.scanning != "bottom-first"
        self.looks: list[Look] = []
        for times, fields in making.plan.pictures():
            both = (fields[0], fields[-1]) if self.interlaced else (fields[0],)
            self.looks.extend(both * times)
        self._scans = {scan.reel.name: scan for scan in making.scans}
        self._made: OrderedDict[tuple[Look, int | None], Small] = OrderedDict()

    def __len__(self) -> int:
        """Return how many pulses there are."""
        return len(self.looks)

    def field_of(self, pulse: int) -> int | None:
        """Return which field a pulse is: 0 the upper, 1 the lower, None for a whole frame."""
        return (pulse % 2) ^ (not self._upper_first) if self.interlaced else None

    def picture(self, look: Look, field: int | None) -> Small:
        """Return what a look should look like in one of the fields."""
        key = (look, field)
        if key not in self._made:
            self._made[key] = self._compose(look, field)
            if len(self._made) > _KEPT:
                self._made.popitem(last=False)
        self._made.move_to_end(key)
        return self._made[key]

    def reel(self, number: int) -> tuple[str, Filmed] | None:
        """Return a reel of the plan's timeline by its number: its name, and its pictures."""
        name = self.making.plan.timeline.reels[number].name
        scan = self._scans.get(name)
        if scan is None:
            return None
        taken = taken_of(self.making, scan)
        filmed = self._film.reel(name, taken, fields=self.interlaced)
        instead = self._instead.get(name)
        return name, replace(filmed, instead=instead) if instead else filmed

    def lacks(self, look: Look) -> bool:
        """Tell whether a look shows a damaged frame for which nobody knows what stands in."""
        for part in look:
            found = None if part.reel is None else self.reel(part.reel)
            if part.frame is not None and found is not None and found[1].lacks(part.frame):
                return True
        return False

    def digest(self, look: Look, field: int | None) -> bytes | None:
        """Return the digest of the one film frame, or its field, that a look is; else None."""
        part = look[0]
        if len(look) > 1 or part.frame is None or part.reel is None:
            return None
        found = self.reel(part.reel)
        return None if found is None else found[1].digest(part.frame, field)

    def _compose(self, look: Look, field: int | None) -> Small:
        if len(look) == 1:
            return self._part(look[0], field)
        light = np.zeros(WIDTH * HEIGHT, np.float32)
        for part in look:
            codes = self._part(part, field)
            light += np.float32(part.weight) * (codes / _WHITE) ** _EXPONENT
        return np.asarray(light ** (1 / _EXPONENT) * _WHITE, np.float32)

    def _part(self, part: Part, field: int | None) -> Small:
        found = None if part.reel is None else self.reel(part.reel)
        if part.frame is None or found is None:
            return self._plates.picture(part.plate, beside=part.unit is None)
        picture = found[1].picture(part.frame, field)
        return self._plates.picture(None, beside=False) if picture is None else picture
