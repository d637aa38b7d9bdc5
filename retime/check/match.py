"""Every pulse of a deliverable held against its plan: what each shows, and where the two part.

Two passes over small pictures that are already read. The first finds how what is seen runs along
the plan (``alignment``), so that one picture too many is told once and not as thousands of wrong
ones; the second holds each picture against what is planned for it and what it could be taken for:
the film frames beside it, and what is planned just before and after (``telling``).
"""

from __future__ import annotations

from collections import Counter
from enum import IntEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

from retime.check.alignment import Change, changes, path
from retime.check.search import Coarse
from retime.check.spool import HEIGHT, WIDTH
from retime.check.telling import LEFT, Saying, tell

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from numpy.typing import NDArray

    from retime.check.planned import Planned
    from retime.check.spool import Small, Spool
    from retime.plan.look import Look

__all__ = ["Match", "Sight", "Verdict", "Wrong", "match"]

_NEAR = 4
_REACH = 12
_MOST_SEARCHES = 200
_SAMPLES = 200
_EVERY = 24
_CLEAR = 8.0
"""Of how many times the residual that is usual a cost of 1 is made."""
_FLOOR = 0.15
_FAR_OFF = 1e6
_BURNT = 0.35
"""The share of the picture's height, at the upper or lower edge, where text can stand."""
_MOSTLY = 0.9
_STILL = 0.3
"""Mean square difference, in codes, below which pictures count as one still picture."""
_FAINT = 6.0
"""Root mean square, in codes, that no coding adds to a small picture."""
_ODD, _STRANGE = 8.0, 40.0
"""Of how many times the usual residual a picture is looked for elsewhere, and is no picture of the
film's if it is found nowhere."""


class Verdict(IntEnum):
    """What is told of a pulse."""

    RIGHT = 0
    EXACT = 1
    """Every sample is the film frame's."""
    CANNOT_TELL = 2
    WRONG = 3
    STRANGE = 4
    """It shows nothing of the film's that could be found."""


class Sight(NamedTuple):
    """What a pulse shows: a look of the plan, or one film frame of a reel."""

    look: Look | None
    reel: str | None = None
    frame: int | None = None


class Wrong(NamedTuple):
    """A pulse that shows something other than planned; ``shows`` is None where it is unknown."""

    pulse: int
    planned: Look
    shows: Sight | None


class Match(Struct, frozen=True, eq=False, kw_only=True):
    """How a deliverable's pulses stand to the plan.

    ``verdicts`` has one for each pulse that was seen and planned; ``shifts`` are by how many pulses
    each runs ahead of the plan, ``changes`` where that changes. ``altered`` are pulses that show
    what is planned and are not its samples, where they should be. ``moving`` are pulses whose
    neighbours in the plan look otherwise. ``unlike`` is the share of the pictures' own variance
    that the residual usually has, near 0 where they are the film's.
    """

    seen: int
    planned: int
    verdicts: NDArray[np.int8]
    shifts: NDArray[np.int16]
    changes: tuple[Change, ...]
    wrong: tuple[Wrong, ...]
    altered: tuple[int, ...]
    moving: int
    moving_untold: int
    unlike: float


def match(planned: Planned, seen: Spool, *, exact: bool) -> Match:
    """Return how what was seen stands to the plan.

    ``exact`` says that its samples are to be the film's. Text that is burnt in is looked past.
    Raises ScanError where a scan cannot be read.
    """
    return _Matching(planned, seen, exact=exact).match()


class _Matching:
    """One deliverable while it is matched."""

    def __init__(self, planned: Planned, seen: Spool, *, exact: bool) -> None:
        self._planned, self._seen, self._exact = planned, seen, exact
        self._count = min(len(planned), seen.count)
        self._open = _edge(planned)
        self._gain, self._lift = self._levels()
        if planned.making.deliverable.burn:
            self._open = self._unburnt()
        self._searched: Coarse | None = None
        self._searches = _MOST_SEARCHES
        self._rests: list[float] = []

    def match(self) -> Match:
        """Return the whole match."""
        shifts = self._shifts()
        verdicts = np.empty(len(shifts), np.int8)
        wrong: list[Wrong] = []
        altered: list[int] = []
        moving = untold = 0
        for pulse, shift in enumerate(shifts):
            verdict, shows, moves = self._judge(pulse, pulse + int(shift))
            verdicts[pulse] = verdict
            moving += moves
            untold += moves and verdict is Verdict.CANNOT_TELL
            if verdict in {Verdict.WRONG, Verdict.STRANGE}:
                wrong.append(Wrong(pulse, self._planned.looks[pulse + int(shift)], shows))
            elif self._is_altered(verdict, pulse + int(shift)):
                altered.append(pulse)
        return Match(
            seen=self._seen.count,
            planned=len(self._planned),
            verdicts=verdicts,
            shifts=shifts,
            changes=tuple(changes(shifts)),
            wrong=tuple(wrong),
            altered=tuple(altered),
            moving=moving,
            moving_untold=untold,
            unlike=self._unlike(),
        )

    def _unlike(self) -> float:
        """Return the usual residual over the usual variance of what is seen."""
        if not self._rests:
            return 0.0
        step = max(1, self._seen.count // _SAMPLES)
        pulses = range(0, self._seen.count, step)
        varied = float(np.median([self._shown(pulse).var() for pulse in pulses]))
        return float(np.median(self._rests)) / max(1.0, varied)

    def _picture(self, pulse: int, field: int | None) -> Small:
        """Return what is planned for a pulse, in the codes of what is seen."""
        return self._leveled(self._planned.picture(self._planned.looks[pulse], field))

    def _leveled(self, film: Small) -> Small:
        return (self._gain * film + self._lift) * self._open

    def _shown(self, pulse: int) -> Small:
        """Return what is seen, but for what text is burnt over."""
        return self._seen.picture(pulse) * self._open

    def _levels(self) -> tuple[np.float32, np.float32]:
        """Return by what the plan's codes become the file's: they differ by range and matrix."""
        gains, pairs, kept = [], [], self._open > 0
        step = max(1, self._count // _SAMPLES)
        for pulse in range(0, self._count, step):
            field = self._planned.field_of(pulse)
            film = self._planned.picture(self._planned.looks[pulse], field)[kept]
            made = self._seen.picture(pulse)[kept]
            if film.std() > 1 and made.std() > 1:
                gains.append(made.std() / film.std())
                pairs.append((film.mean(), made.mean()))
        if not gains:
            return np.float32(1), np.float32(0)
        gain = float(np.median(gains))
        return np.float32(gain), np.float32(np.median([made - gain * film for film, made in pairs]))

    def _unburnt(self) -> Small:
        """Return 1 for the codes that mostly look as planned, 0 where text is burnt over them."""
        step = max(1, self._count // _SAMPLES)
        self._open = np.ones(HEIGHT * WIDTH, np.float32)
        rests = [
            np.abs(self._shown(pulse) - self._picture(pulse, self._planned.field_of(pulse)))
            for pulse in range(0, self._count, step)
        ]
        burnt = (np.quantile(rests, _MOSTLY, axis=0) > _FAINT).reshape(HEIGHT, WIDTH)
        around = np.pad(burnt, 1)
        sides = (around[:-2, 1:-1], around[2:, 1:-1], around[1:-1, :-2], around[1:-1, 2:])
        grown = np.logical_or.reduce((burnt, *sides))
        return np.where(grown.reshape(-1), 0, 1).astype(np.float32)

    def _shifts(self) -> NDArray[np.int16]:
        """Return the shift of every pulse that is seen, never past the plan's end."""
        known = self._possible_shifts()
        found = path(self._costs(known), known)
        last = len(self._planned) - 1
        room = last - np.arange(len(found))
        return np.clip(found, -np.arange(len(found)), room).astype(np.int16)

    def _possible_shifts(self) -> list[int]:
        """Return the shifts worth looking at: small ones, and those that samples are found at."""
        near = set(range(-_REACH, _REACH + 1))
        if self._seen.count == len(self._planned) and self._fits_as_it_is():
            return sorted(near)
        found = Counter(
            self._coarse().nearest(self._shown(pulse)) - pulse
            for pulse in range(0, self._seen.count, _EVERY)
        )
        often = {shift for shift, times in found.items() if times > 1}
        return sorted(near | {shift + by for shift in often for by in (-1, 0, 1)})

    def _coarse(self) -> Coarse:
        if self._searched is None:
            planned = self._planned

            def picture(pulse: int) -> Small:
                return self._picture(pulse, planned.field_of(pulse))

            self._searched = Coarse(picture, len(planned))
        return self._searched

    def _found(self, pulse: int, planned: Look) -> Sight | None:
        """Return what an odd picture shows, if something else in the plan is much more like it."""
        if not self._searches:
            return None
        self._searches -= 1
        place = self._coarse().nearest(self._shown(pulse))
        here = self._shown(pulse) - self._leveled(
            self._planned.picture(planned, self._planned.field_of(pulse))
        )
        found = self._planned.looks[place]
        near = self._rest(pulse, place) <= LEFT * float(here @ here) / len(here)
        return Sight(found) if near and found != planned else None

    def _usual(self, pulse: int) -> float:
        """Return the residual that is usual around a pulse."""
        around = self._rests[max(0, pulse - _EVERY) : pulse + _EVERY + 1]
        return max(_FLOOR, float(np.median(around)))

    def _fits_as_it_is(self) -> bool:
        """Tell whether most samples look as planned where they are planned."""
        step = max(1, self._count // _SAMPLES)
        pulses = range(0, self._count, step)
        rests = [self._rest(pulse, pulse) for pulse in pulses]
        return float(np.quantile(rests, 0.9)) < _FAINT**2

    def _rest(self, pulse: int, planned: int) -> float:
        """Return the mean square difference of what is seen from what is planned somewhere."""
        apart = self._shown(pulse) - self._picture(planned, self._planned.field_of(pulse))
        return float(apart @ apart) / len(apart)

    def _costs(self, shifts: Sequence[int]) -> Iterator[NDArray[np.float32]]:
        """Yield a row a pulse: how ill it goes with the plan at each shift, from 0 to 1."""
        rests = self._rests
        for pulse in range(self._seen.count):
            row = np.full(len(shifts), np.inf, np.float32)
            for place, shift in enumerate(shifts):
                if 0 <= pulse + shift < len(self._planned):
                    row[place] = self._rest(pulse, pulse + shift)
            least = float(row.min())
            rests.append(least)
            usual = max(_FLOOR, float(np.median(rests[-_EVERY:])))
            over = row - np.float32(min(least, _FAR_OFF))  # past the plan's end nothing fits
            yield np.minimum(1, over / np.float32(_CLEAR * usual)).astype(np.float32)

    def _judge(self, pulse: int, planned: int) -> tuple[Verdict, Sight | None, bool]:
        """Return what a pulse shows, that if it is wrong, and whether its neighbours differ."""
        field = self._planned.field_of(pulse)
        look = self._planned.looks[planned]
        if self._planned.lacks(look):
            return Verdict.CANNOT_TELL, None, False
        others = self._others(planned, field)
        if self._exact:
            digest = self._planned.digest(look, field)
            if digest is not None and digest == self._seen.digest(pulse):
                return Verdict.EXACT, None, True
        made, film = self._shown(pulse), self._picture(planned, field)
        told = tell(made, film, others)
        moves = _moves(film, others.values())
        if told.saying is Saying.WRONG and isinstance(told.shows, Sight):
            return Verdict.WRONG, told.shows, moves
        rest = made - film
        odd = float(rest @ rest) / len(rest) / self._usual(pulse)
        if odd > _ODD:
            shows = self._found(pulse, look)
            # Means of small pictures are not quite the small pictures of means.
            if shows is not None or odd > _STRANGE * len(look) ** 2:
                return Verdict.STRANGE if shows is None else Verdict.WRONG, shows, moves
        if told.saying is Saying.CANNOT_TELL:
            return Verdict.CANNOT_TELL, None, moves
        return Verdict.RIGHT, None, moves

    def _others(self, planned: int, field: int | None) -> dict[object, Small]:
        """Return what a pulse could be taken for: neighbours in the plan, and in the film."""
        look = self._planned.looks[planned]
        found: dict[object, Small] = {}
        first, last = max(0, planned - _NEAR), min(len(self._planned) - 1, planned + _NEAR)
        for place in range(first, last + 1):
            other = self._planned.looks[place]
            if other != look and Sight(other) not in found:
                found[Sight(other)] = self._picture(place, field)
        part = look[0]
        reel = None if len(look) > 1 or part.reel is None else self._planned.reel(part.reel)
        if reel is not None and part.frame is not None:
            name, filmed = reel
            for frame in (part.frame - 1, part.frame + 1):
                beside = filmed.picture(frame, field)
                if beside is not None:
                    found[Sight(None, name, frame)] = self._leveled(beside)
        return found

    def _is_altered(self, verdict: Verdict, planned: int) -> bool:
        """Tell whether what is planned has samples, and a file that should have them has others."""
        if not self._exact or verdict is Verdict.EXACT:
            return False
        field = self._planned.field_of(planned)
        return self._planned.digest(self._planned.looks[planned], field) is not None


def _edge(planned: Planned) -> Small:
    """Return 1 for the codes of a small picture that no burnt-in text can touch, else 0."""
    open_rows = np.ones((HEIGHT, WIDTH), np.float32)
    if planned.making.deliverable.burn:
        burnt = round(HEIGHT * _BURNT)
        at_top = planned.making.profile.burn_place.at_top
        open_rows[slice(None, burnt) if at_top else slice(-burnt, None)] = 0
    return open_rows.reshape(-1)


def _moves(film: Small, others: Collection[Small]) -> bool:
    """Tell whether there is what a picture could be taken for, and all of it looks otherwise.

    That one is lighter than the other, as hand-cranked film flickers, is no movement.
    """
    return bool(others) and all(_unlike(film, other) > _STILL for other in others)


def _unlike(film: Small, other: Small) -> float:
    """Return the mean square difference of two pictures, their levels brought together."""
    one, two = film - film.mean(), other - other.mean()
    size = float(one @ one)
    rest = two if size == 0 else two - one * np.float32(float(one @ two) / size)
    return float(rest @ rest) / len(rest)
