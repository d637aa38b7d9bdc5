"""In what a deliverable differs from its fingerprint: pixels, order, timing, sound, metadata."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from retime.check.identity import nearest, runs_of, same_pictures
from retime.check.place import FilePlace
from retime.findings import Finding, Severity

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from retime.check.fingerprint import Record, Recorded
    from retime.check.identity import Exact, Tolerant

__all__ = ["differences", "version_differences"]

_MOSTLY = 0.95
_TIMING = frozenset({"rate", "uneven", "start"})


def version_differences(kept: Recorded, now: Mapping[str, str], path: Path) -> Iterator[Finding]:
    """Yield a warning where a fingerprint was made by other versions: it may explain the rest."""
    changed = [
        f"{name} {kept.versions.get(name, 'unknown')}, now {version}"
        for name, version in now.items()
        if kept.versions.get(name) != version
    ]
    if changed:
        yield Finding(
            place=FilePlace(path=path, deliverable=""),
            rule="versions",
            text=f"the fingerprint was made with {'; '.join(changed)}",
            severity=Severity.WARNING,
        )


def differences(kept: Record, now: Record, path: Path) -> Iterator[Finding]:
    """Yield in what a deliverable differs, its pictures' first difference and their count."""
    place = FilePlace(path=path, deliverable=now.name)
    if kept.plan != now.plan:
        text = "the plan is another: the map's decisions for this deliverable were changed"
        yield Finding(place=place, rule="plan", text=text)
    if kept.kept is not now.kept:
        text = f"the fingerprint tells pictures by their {kept.kept}, not by their {now.kept}"
        yield Finding(place=place, rule="pixels", text=text, hint="record it again")
    else:
        yield from _pictures(kept.pictures, now.pictures, place)
    for name in sorted(kept.facts.keys() | now.facts.keys()):
        before, after = kept.facts.get(name, "nothing"), now.facts.get(name, "nothing")
        if before != after:
            rule = "timing" if name in _TIMING else "metadata"
            yield Finding(place=place, rule=rule, text=f"{name} is {after}, and was {before}")
    if kept.sound != now.sound:
        text = f"the sound is another: {_counted(now.sound)}, and there were {_counted(kept.sound)}"
        if len(kept.sound) == len(now.sound):
            pairs = zip(kept.sound, now.sound, strict=True)
            text = "the samples changed of sound " + ", ".join(
                str(number) for number, (one, other) in enumerate(pairs, 1) if one != other
            )
        yield Finding(place=place, rule="sound", text=text)


def _counted(streams: tuple[str, ...]) -> str:
    return f"{len(streams)} stream{'' if len(streams) == 1 else 's'}"


def _pictures(kept: Exact | Tolerant, now: Exact | Tolerant, place: FilePlace) -> Iterator[Finding]:
    same = same_pictures(kept, now)
    off = [int(number) for number in np.flatnonzero(~same)]
    longer = abs(len(kept) - len(now))
    if not off and not longer:
        return
    first = off[0] if off else len(same)
    where = FilePlace(path=place.path, deliverable=place.deliverable, output=first)
    rule, said = _kind(kept, now, off)
    text = f"{said}: {len(off) + longer} pictures differ, the first here"
    if longer:
        text += f"; there are {len(now)}, and were {len(kept)}"
    yield Finding(place=where, rule=rule, text=text)


def _kind(kept: Exact | Tolerant, now: Exact | Tolerant, off: list[int]) -> tuple[str, str]:
    """Return what changed: how long pictures stand, their order, or the pictures themselves."""
    if _alike(_distinct(kept), _distinct(now)):
        return "timing", "the same pictures in the same order stand otherwise long"
    found = [_place(now, number, kept) for number in off]
    if sum(one is not None for one in found) >= _MOSTLY * len(off) and off:
        return "order", "the same pictures come in another order"
    if not off:
        return "timing", "pictures are missing at the end, or too many"
    return "pixels", "pictures changed"


def _distinct(pictures: Exact | Tolerant) -> Exact | Tolerant:
    places = runs_of(pictures)
    return [pictures[at] for at in places] if isinstance(pictures, list) else pictures[list(places)]


def _alike(first: Exact | Tolerant, second: Exact | Tolerant) -> bool:
    return len(first) == len(second) and bool(same_pictures(first, second).all())


def _place(now: Exact | Tolerant, number: int, kept: Exact | Tolerant) -> int | None:
    """Return where a picture stood before, None where it did nowhere."""
    if isinstance(now, list) or isinstance(kept, list):
        return list(kept).index(now[number]) if now[number] in kept else None
    return nearest(now[number], kept)
