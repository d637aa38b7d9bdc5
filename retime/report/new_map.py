"""A first speed map of scans: what was found in them, how sure that is, and no speed decided.

Comments say what was found; a version and a deliverable stand there as an example, commented out.
"""

from __future__ import annotations

import csv
import re
from io import StringIO
from textwrap import wrap
from typing import TYPE_CHECKING
from unicodedata import normalize

from msgspec import Struct

from retime.shots.found import JoinKind, LeaderKind
from retime.speedmap.document import FORMAT
from retime.yamldoc.scalars import written

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from retime.shots.found import FoundShot, Join, Leader, ScanShots
    from retime.shots.looking import Looked

__all__ = ["NewReel", "file_stem", "new_map", "shots_table", "sureness_said"]

_WIDTH = 98
_LONGEST_NAME = 60
_COLUMNS = ("reel", "first", "last", "shot", "kind", "name")
_SURE, _FAIRLY = 0.8, 0.5
_DOUBTFUL = 0.6  # how sure a kind or a join is, below which the comments point at it
_TOLD = 40  # joins and doubts of a reel that are told one by one
_EXAMPLE = """
# No speed is decided yet: that is yours to do, and lint says so until it is done. Take the marks
# away and put the film's own speed in: `retime weigh` and `retime pace` help to find it.
#
# versions:
#   restrained:
#     speed: 18 fps
#     titles: {speed: 18 fps, at least: 3 s}
#
# deliverables:
#   restrained-24:
#     version: restrained
#     profile: prores-mezzanine
#     rate: 24
"""
_LEADER = {
    LeaderKind.BLACK: "black",
    LeaderKind.WHITE: "white",
    LeaderKind.STILL: "a still or label",
    LeaderKind.PUNCH: "an odd frame",
}


class NewReel(Struct, frozen=True, kw_only=True):
    """A reel to be written: its name, its scan's address from the map's folder, what was found."""

    name: str
    address: str
    looked: Looked

    @property
    def found(self) -> ScanShots:
        """Its shots."""
        return self.looked.found


def file_stem(film: str) -> str:
    """Return what a map's file is called by its film: small letters, digits and hyphens."""
    plain = normalize("NFKD", film.lower()).encode("ascii", "ignore").decode()
    words = re.sub(r"[^a-z0-9]+", "-", plain.replace("'", "")).strip("-")
    return words[:_LONGEST_NAME].strip("-") or "film"


def new_map(film: str, gauge: str, reels: Sequence[NewReel], table: str, sheet: str) -> str:
    """Return the text of a map that names a table of shots; ``sheet`` is the contact sheet."""
    counted = sum(len(reel.found.shots) for reel in reels)
    titles = sum(shot.title for reel in reels for shot in reel.found.shots)
    head = (
        f"A first map, written by retime new: {_many(len(reels), 'reel')}, "
        f"{_many(counted, 'shot')}, {_many(titles, 'title')} among them. All of it was found in "
        f"the pictures alone and is to be looked over: {sheet} shows a picture of every shot, and "
        "what is wrong can be put right here and in the table of shots."
    )
    lines = [*_comment(head), "", f"format: {FORMAT}"]
    lines += [f"film: {_yaml(film)}", f"gauge: {_yaml(gauge)}", ""]
    lines += _comment(
        "Frames are counted from 0 in each scan. first and last leave the leaders out, which were "
        "found as the comments say; frames is what the scan holds."
    )
    lines.append("reels:")
    for reel in reels:
        lines += _reel_lines(reel)
    lines += ["", *_comment(_joins_head()), f"shots: {_yaml(table)}"]
    return "\n".join(lines) + "\n" + _EXAMPLE


def shots_table(reels: Iterable[NewReel]) -> str:
    """Return the table of shots; names are left to be filled in."""
    told = StringIO()
    rows = csv.writer(told, lineterminator="\n")
    rows.writerow(_COLUMNS)
    for reel in reels:
        for number, shot in enumerate(reel.found.shots, 1):
            kind = "title" if shot.title else "action"
            rows.writerow((reel.name, shot.first, shot.last, number, kind, ""))
    return told.getvalue()


def sureness_said(sure: float) -> str:
    """Return how sure something is, in words."""
    if sure >= _SURE:
        return "sure"
    return "fairly sure" if sure >= _FAIRLY else "doubtful"


def _joins_head() -> str:
    return (
        "Shots are numbered reel by reel. Where two dissolve, or fade over black, their border is "
        "put at the middle."
    )


def _reel_lines(reel: NewReel) -> Iterator[str]:
    found = reel.found
    yield f"  - reel: {_yaml(reel.name)}"
    yield f"    scan: {_yaml(reel.address)}"
    yield f"    first: {found.first}{_because(found.head, 'head')}"
    yield f"    last: {found.last}{_because(found.tail, 'tail')}"
    yield f"    frames: {found.frames}"
    missing = reel.looked.scan.missing
    if missing:
        files = "file is" if missing == 1 else "files are"
        yield f"    # {missing} {files} missing: hold shows the picture before; black would do too."
        yield "    missing: hold"
    yield from _comment(_summary(found), "    ")
    told = [*_notable(found)]
    for line in told[:_TOLD]:
        yield from _comment(line, "    ", hanging="  ")
    if len(told) > _TOLD:
        yield from _comment(f"... and {len(told) - _TOLD} more: see the contact sheet", "    ")


def _because(leader: Sequence[Leader], where: str) -> str:
    """Return a comment that says what a leader is made of."""
    if not leader:
        return f"    # no leader found at the {where}"
    parts = ", ".join(
        f"{_LEADER[one.kind]} {one.first}" + (f"-{one.last}" if one.last > one.first else "")
        for one in leader[:6]
    )
    more = f" and {len(leader) - 6} more" if len(leader) > 6 else ""  # noqa: PLR2004 - a line full
    return f"    # {where} leader: {parts}{more}"


def _summary(found: ScanShots) -> str:
    kinds = [join.kind for join in found.joins]
    counts = [
        (len(found.shots), "shot"),
        (sum(shot.title for shot in found.shots), "title"),
        (kinds.count(JoinKind.CUT), "cut"),
        (kinds.count(JoinKind.DISSOLVE), "dissolve"),
        (kinds.count(JoinKind.FADE_OUT) + kinds.count(JoinKind.FADE_IN), "fade"),
    ]
    return ", ".join(_many(count, name) for count, name in counts) + "."


def _notable(found: ScanShots) -> Iterator[str]:
    """Yield a line for every dissolve and fade, and for whatever is not sure, in order."""
    lines = [
        (join.first, f"{_join_said(join)}: {sureness_said(join.sure)}.")
        for join in found.joins
        if join.kind is not JoinKind.CUT or join.sure < _DOUBTFUL
    ]
    lines += [
        (shot.first, _doubt_said(number, shot))
        for number, shot in enumerate(found.shots, 1)
        if shot.sure < _DOUBTFUL
    ]
    yield from (line for _, line in sorted(lines))


def _join_said(join: Join) -> str:
    if join.kind is JoinKind.CUT:
        return f"cut before frame {join.first}"
    return f"{join.kind.value} over frames {join.first} to {join.last}"


def _doubt_said(number: int, shot: FoundShot) -> str:
    kind, other = ("title", "action") if shot.title else ("action", "a title")
    return f"shot {number}, frames {shot.first} to {shot.last}: {kind}, but may be {other}."


def _many(count: int, name: str) -> str:
    return f"{count:,} {name}{'' if count == 1 else 's'}"


def _yaml(text: str) -> str:
    return written(text, "", flow=False)


def _comment(text: str, indent: str = "", hanging: str = "") -> list[str]:
    lines = wrap(text, _WIDTH - len(indent), break_on_hyphens=False, subsequent_indent=hanging)
    return [f"{indent}# {line}" for line in lines]
