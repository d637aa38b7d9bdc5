"""Which excerpts are looked at: those that are named, or the busiest of each reel and a title."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from retime.errors import CommandError, NotationError
from retime.preview.asked import MOST_EXCERPTS
from retime.preview.busiest import GLANCES, PARTS, busiest_of, glances_in
from retime.preview.excerpt import Excerpt, cut
from retime.speedmap.model import ShotKind
from retime.speedmap.shotkeys import shot_keys
from retime.yamldoc.quoting import quoted, suggestion

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.edition.scans import ReelScan
    from retime.preview.asked import Asked
    from retime.preview.subject import Subject
    from retime.render.progress import Progress
    from retime.speedmap.model import Shot

__all__ = ["chosen", "to_be_seen"]

_SPAN = re.compile(r"(?:(?P<reel>.+)/)?(?P<first>\d{1,9})\s*-\s*(?P<last>\d{1,9})", re.ASCII)
_FRAMES_HINT = "write reel/first-last, such as 1/120-280; with one reel, 120-280 will do"
_FEWEST = 2  # frames that show motion
_BRIEF = 12  # frames, half a second and more: shots below are looked at where there are no others


class _Found(Struct, frozen=True, kw_only=True):
    """A run of film frames before it is cut to length; ``about`` is where it is to be cut."""

    scan: ReelScan
    first: int
    last: int
    why: str
    shot: Shot | None = None
    about: int | None = None


def to_be_seen(subject: Subject, asked: Asked) -> int:
    """Return how many glances at most it takes to choose; 0 where everything is named."""
    if asked.shots is not None or asked.frames is not None:
        return 0
    return sum(glances_in(len(_spans(subject, scan))) for scan in subject.scans)


def chosen(subject: Subject, asked: Asked, most: int, progress: Progress) -> tuple[Excerpt, ...]:
    """Return the excerpts, each of at most ``most`` frames.

    Raises CommandError for shots or frames that the film has not.
    """
    if asked.shots is None and asked.frames is None:
        found = [*_busiest(subject, progress), *_title(subject)]
    else:
        found = [
            *(one for text in asked.shots or () for one in _named_shots(subject, text)),
            *(_named_frames(subject, text) for text in asked.frames or ()),
        ]
        if len(found) > MOST_EXCERPTS:
            raise CommandError(f"{len(found)} excerpts are asked for", f"say {MOST_EXCERPTS}")
    return tuple(_excerpt(number, one, most) for number, one in enumerate(found, 1))


def _excerpt(number: int, found: _Found, most: int) -> Excerpt:
    first, last = cut(found.first, found.last, most, found.about)
    reel, shot, why = found.scan.reel.name, found.shot, found.why
    if (first, last) != (found.first, found.last):
        where = "the middle" if found.about is None else "where most moves"
        why += f", cut to {most} of {found.last - found.first + 1} frames around {where}"
    told = found.scan.told
    frames = f"frames {told(first)} to {told(last)}"
    return Excerpt(
        key=f"e{number}",
        title=f"Reel {reel}, {frames if shot is None else f'shot {shot.name}'}",
        name=None if shot is None else shot.title,
        reel=reel,
        shot=None if shot is None else shot.name,
        kind=None if shot is None else shot.kind,
        first=first,
        frames=last - first + 1,
        why=why,
    )


def _busiest(subject: Subject, progress: Progress) -> Iterator[_Found]:
    """Yield the busiest shot of each reel, or window of a reel without shots."""
    for scan in subject.scans[: MOST_EXCERPTS - 1]:
        shots = _action(subject, scan)
        spans = _spans(subject, scan)
        best = busiest_of(scan, spans, lambda: progress.advance(1))
        first, last = spans[best.span]
        what = "shot" if shots else "part"
        if best.about is None:
            why = f"the longest {what} of reel {scan.reel.name}; its motion could not be measured"
        else:
            why = (
                f"the busiest {what} of reel {scan.reel.name}, by at most {GLANCES} pairs of "
                "neighbouring frames here and there"
            )
        if shots:
            yield _Found(
                scan=scan, first=first, last=last, why=why, shot=shots[best.span], about=best.about
            )
        else:
            about = best.about
            whole = (scan.reel.first, scan.last)
            yield _Found(scan=scan, first=whole[0], last=whole[1], why=why, about=about)


def _spans(subject: Subject, scan: ReelScan) -> list[tuple[int, int]]:
    """Return the spans that are held against each other: shots, or equal parts of the reel."""
    shots = _action(subject, scan)
    if shots:
        return [(shot.first, shot.last) for shot in shots]
    first, frames = scan.reel.first, scan.last - scan.reel.first + 1
    parts = max(1, min(PARTS, frames // _FEWEST))
    bounds = [first + frames * part // parts for part in range(parts + 1)]
    return [(low, high - 1) for low, high in pairwise(bounds)]


def _action(subject: Subject, scan: ReelScan) -> list[Shot]:
    """Return a reel's shots that may move, brief ones only where there are no others."""
    inside = [
        shot
        for shot in subject.shots
        if shot.reel == scan.reel.name
        and shot.kind is ShotKind.ACTION
        and shot.last - shot.first + 1 >= _FEWEST
    ]
    return [shot for shot in inside if shot.last - shot.first + 1 >= _BRIEF] or inside


def _title(subject: Subject) -> Iterator[_Found]:
    """Yield the longest title, if there is one: what takes longest to read."""
    titles = [
        shot
        for shot in subject.shots
        if shot.kind is ShotKind.TITLE and subject.scan_named(shot.reel) is not None
    ]
    if titles:
        longest = max(titles, key=lambda shot: shot.last - shot.first)
        yield _of_shot(subject, longest, "the longest title")


def _of_shot(subject: Subject, shot: Shot, why: str) -> _Found:
    scan = subject.scan_named(shot.reel)
    if scan is None:
        raise CommandError(f"there is no reel {quoted(shot.reel)}")
    return _Found(scan=scan, first=shot.first, last=shot.last, why=why, shot=shot)


def _named_shots(subject: Subject, text: str) -> Iterator[_Found]:
    """Yield a shot, or those of a run."""
    keys = [shot.key for shot in subject.shots]
    if not keys:
        raise CommandError("--shots: there is no list of shots", "name frames: --frames 1/120-280")
    try:
        first, last = shot_keys(text, keys)
    except NotationError as error:
        raise CommandError(f"--shots: {error.text}", error.hint) from error
    for key in (first, last):
        if key not in keys:
            known = [str(one) for one in keys]
            raise CommandError(
                f"--shots: there is no shot {quoted(str(key))}", suggestion(str(key), known)
            )
    begin, stop = keys.index(first), keys.index(last) + 1
    if begin >= stop:
        raise CommandError(f"--shots: the run {quoted(text)} runs backwards", "turn it round")
    for shot in subject.shots[begin:stop]:
        yield _of_shot(subject, shot, "named by --shots")


def _named_frames(subject: Subject, text: str) -> _Found:
    found = _SPAN.fullmatch(text)
    if found is None:
        raise CommandError(f"--frames: {quoted(text)} is no run of frames", _FRAMES_HINT)
    if found["reel"] is None and len(subject.scans) > 1:
        raise CommandError(f"--frames: {quoted(text)} does not say of which reel", _FRAMES_HINT)
    name = subject.scans[0].reel.name if found["reel"] is None else found["reel"].strip()
    scan = subject.scan_named(name)
    if scan is None:
        known = [one.reel.name for one in subject.scans]
        raise CommandError(f"--frames: there is no reel {quoted(name)}", suggestion(name, known))
    first, last = int(found["first"]), int(found["last"])
    low, high = scan.told(scan.reel.first), scan.told(scan.last)
    if last < first:
        raise CommandError(f"--frames: {quoted(text)} runs backwards", f"write {last}-{first}")
    for frame in (first, last):
        if not low <= frame <= high:
            raise CommandError(
                f"--frames: there is no frame {frame} in reel {quoted(name)}",
                f"its picture has frames {low} to {high}",
            )
    if scan.sifting is not None:
        first, last = scan.sifting.since(first), scan.sifting.until(last)
    if last - first + 1 < _FEWEST:
        raise CommandError(f"--frames: {quoted(text)} are too few", f"name {_FEWEST} or more")
    named = _Found(scan=scan, first=first, last=last, why="named by --frames")
    return _with_its_shot(subject, named)


def _with_its_shot(subject: Subject, found: _Found) -> _Found:
    """Return frames with the shot that they are all of, if they are exactly that."""
    for shot in _shots_of(subject, found.scan):
        if (shot.first, shot.last) == (found.first, found.last):
            return replace(found, shot=shot)
    return found


def _shots_of(subject: Subject, scan: ReelScan) -> Sequence[Shot]:
    return [shot for shot in subject.shots if shot.reel == scan.reel.name]
