"""Fades: pictures that go down into black, or come out of it, evenly."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.shots.likeness import unlike_far
from retime.shots.sights import MARKED
from retime.shots.views import softened
from retime.signal.fades import LONGEST, rise_in

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    from retime.shots.sights import Sights

    Frames = NDArray[np.int64]
    Series = NDArray[np.float32]

__all__ = ["Darkness", "Fade", "darknesses_in"]

_SHORTEST = 4  # frames: less is a soft cut
_FITS = 0.22  # of the level: the mean error of a fade, flicker included
_BETTER = 0.85  # of the error of a cut
_LEAST = 3.0  # codes that a picture must come up by
_APART = 4  # frames between black ones that may be spoiled
_FAINT = 0.45  # of the brightness to come: what may be a fade's first frame after a cut
_SOON = 12  # frames
_CLEAR = 0.3  # of the brightest: from here on it is seen what a picture shows
_SAME = 0.2  # of unlikeness
_NEAR = 20  # frames beyond darkness by which something is seen
_FADED = 0.3  # the same for what is still faint
_STRIDE = 3


class Fade(Struct, frozen=True, kw_only=True):
    """The frames over which a picture fades, both included; ``error`` is a part of its level."""

    first: int
    last: int
    error: float


class Darkness(Struct, frozen=True, kw_only=True):
    """Black frames in a row, both included, with the fades that lead into it and out of it.

    What is faint in a fade is not counted as black; ``last`` is before ``first`` where nothing
    is left.
    """

    first: int
    last: int
    out: Fade | None
    into: Fade | None


def darknesses_in(sights: Sights) -> tuple[Darkness, ...]:
    """Return the runs of black frames, and where pictures fade without any, in order."""
    found = [_darkness(sights, first, last) for first, last in _runs(sights)]
    found += _without_black(sights)
    return tuple(_joined(_told_once(sorted(found, key=lambda one: one.first))))


def _joined(found: Iterable[Darkness]) -> list[Darkness]:
    """Return them with a fade-out and the fade-in right after it as one."""
    joined: list[Darkness] = []
    for one in found:
        out, into = joined[-1].out if joined else None, one.into
        if out is None or into is None or not _alone(joined[-1], one):
            joined.append(one)
            continue
        first = max(into.first, out.last + 1)
        whole = Fade(first=first, last=max(into.last, first), error=into.error)
        joined[-1] = Darkness(first=out.last + 1, last=first - 1, out=out, into=whole)
    return joined


def _alone(before: Darkness, after: Darkness) -> bool:
    """Tell whether the one only begins, the other only ends, and hardly anything is between."""
    near = after.first - before.last <= _APART
    return near and before.into is None and after.out is None


def _told_once(found: list[Darkness]) -> Iterator[Darkness]:
    """Yield them without a fade that was found from two sides, or from two runs of black."""
    outs: list[Fade] = []
    intos: list[Fade] = []
    for one in found:
        out, into = _new(one.out, outs), _new(one.into, intos)
        outs += [out] if out else []
        intos += [into] if into else []
        if out or into or one.last >= one.first:
            yield Darkness(first=one.first, last=one.last, out=out, into=into)


def _new(fade: Fade | None, known: list[Fade]) -> Fade | None:
    """Return a fade that shares no frames with one that is known, else None."""
    if fade is None or any(fade.first <= one.last and one.first <= fade.last for one in known):
        return None
    return fade


def _runs(sights: Sights) -> list[tuple[int, int]]:
    """Return first and last frames of black, a few spoiled ones in between passed over."""
    runs: list[tuple[int, int]] = []
    edges = np.flatnonzero(np.diff(np.concatenate([[False], sights.black, [False]]).astype(int)))
    for first, stop in zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True):
        if runs and first - runs[-1][1] <= _APART:
            first = runs.pop()[0]  # noqa: PLW2901 - it is one run
        runs.append((first, stop - 1))
    return runs


def _darkness(sights: Sights, first: int, last: int) -> Darkness:
    middle = _darkest(sights, first, last)
    back = _fade(sights, middle, -1, middle - first + 1)
    forth = _fade(sights, middle, 1, last - middle + 1)
    begin = back.last + 1 if back is not None else first
    end = forth.first - 1 if forth is not None else last
    return Darkness(first=begin, last=end, out=back, into=forth)


def _darkest(sights: Sights, first: int, last: int) -> int:
    """Return the middle of the darkest frames of a run."""
    tone = sights.measures.high[first : last + 1]
    darkest = np.flatnonzero(tone <= tone.min() + 1)
    return first + int(darkest[len(darkest) // 2])


def _without_black(sights: Sights) -> list[Darkness]:
    """Return the fades that begin or end in a cut, before they come to black."""
    found = []
    tone, black = sights.measures.high, sights.black
    for frame in np.flatnonzero(sights.change >= MARKED).tolist():
        if black[max(frame - _APART, 0) : frame + _APART].any():
            continue
        if tone[frame] < _FAINT * _highest(tone[frame : frame + _SOON]):
            fade = _fade(sights, frame, 1, 1)
            if fade is not None:
                whole = Fade(first=frame, last=fade.last, error=fade.error)
                found.append(Darkness(first=frame, last=frame - 1, out=None, into=whole))
        if tone[frame - 1] < _FAINT * _highest(tone[max(frame - _SOON, 0) : frame]):
            fade = _fade(sights, frame - 1, -1, 1)
            if fade is not None:
                whole = Fade(first=fade.first, last=frame - 1, error=fade.error)
                found.append(Darkness(first=frame, last=frame - 1, out=whole, into=None))
    return found


def _highest(tone: Series) -> float:
    return float(np.quantile(tone, 0.75))


def _fade(sights: Sights, middle: int, way: int, dark: int) -> Fade | None:
    """Return the fade on one side of a dark frame: before it for -1, after it for 1.

    ``dark`` is how many frames are black from the dark one on.
    """
    limit = min(middle + 1 if way < 0 else sights.count - middle, dark + 2 * LONGEST)
    frames = middle + way * np.arange(limit)
    glow = _glow(sights, frames)
    reach = _reach(sights, frames, glow, dark)
    rise = rise_in(glow[:reach], dark)
    if rise is None or rise.steps < _SHORTEST or rise.level < _LEAST:
        return None
    if rise.error > _FITS or rise.against > _BETTER:
        return None
    span = frames[rise.nothing : rise.nothing + rise.steps]
    if not _one_picture(sights, span, int(frames[min(rise.nothing + rise.steps, reach - 1)])):
        return None
    return Fade(first=int(span.min()), last=int(span.max()), error=rise.error)


def _one_picture(sights: Sights, span: Frames, full: int) -> bool:
    """Tell whether what fades is, while it can be seen, the picture that it is at its level."""
    bright = span[len(span) // 2 :]
    views = sights.views
    away = unlike_far(views[bright], np.repeat(views[full][None], len(bright), axis=0))
    return bool(np.median(away) < _FADED)


def _reach(sights: Sights, frames: Frames, glow: Series, dark: int) -> int:
    """Return how many frames there are from a dark one on until another scene is seen."""
    soon = glow[: dark + _NEAR]
    bright = np.flatnonzero(soon >= _CLEAR * np.quantile(soon, 0.9))
    bright = bright[bright >= min(dark, len(soon) - 1)]
    if not len(bright):
        return len(frames)
    begin = int(bright[0])
    backwards = int(frames[0] > frames[-1])
    for step in range(dark + 1, len(frames)):
        if sights.parts(int(frames[step]) + backwards):
            frames = frames[:step]
            break
    places = np.arange(begin, len(frames), _STRIDE)
    views = sights.views[frames[places]]
    other = unlike_far(views, np.repeat(views[:1], len(views), axis=0)) > _SAME
    gone = np.flatnonzero(other[:-1] & other[1:])
    return int(places[gone[0]]) if len(gone) else len(frames)


def _glow(sights: Sights, frames: Frames) -> Series:
    """Return how far pictures are from a dark one, the first of them, in codes.

    Of each three pictures in a row the middle one of every sample's tones counts: dirt is brighter
    than anything in a dark picture, and stays for one.
    """
    soft = softened(sights.measures.tiny[frames])
    before, after = np.concatenate([soft[:1], soft[:-1]]), np.concatenate([soft[1:], soft[-1:]])
    low, high = np.minimum(before, after), np.maximum(before, after)
    steady = np.clip(soft, low, high)
    return np.asarray(np.sqrt(np.square(steady - steady[:1]).mean(axis=(1, 2))), np.float32)
