"""What the tests of lists share: maps without scans, and how lists of them are made and read."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from msgspec.structs import replace

from retime.edition.join import join
from retime.film.speed import Rate
from retime.lists.collecting import collected
from retime.lists.edl_events import UNWRITTEN
from retime.lists.edl_making import edl_files
from retime.lists.edl_reading import read_edl
from retime.lists.edl_shots import edl_shots
from retime.lists.edl_writing import edl_text
from retime.lists.terms import OurReel, Terms
from retime.report.lists_out import programme_of, runs_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from retime.edition.edition import Edition
    from retime.lists.edl_events import Edl
    from retime.lists.listed import Listed
    from retime.lists.strips import Programme

__all__ = [
    "LIST",
    "Cut",
    "cuts",
    "edition_of",
    "parsed",
    "programme",
    "read_back",
    "shots_text",
    "unplaced",
]

LIST = Path("cuts.edl")
"""The name of a list that stands in no file."""

HEAD = """\
format: retime-map/1
film: Lamp
gauge: 35mm
"""


class Cut(NamedTuple):
    """A shot as a table has it."""

    reel: str
    first: int
    last: int
    shot: str | None
    kind: str
    name: str | None


def cuts(shots: Iterable[Listed]) -> list[Cut]:
    """Return listed shots without their places."""
    return [
        Cut(one.reel, one.first, one.last or 0, one.shot, str(one.kind), one.name) for one in shots
    ]


def edition_of(
    folder: Path, shots: Sequence[Cut], versions: str, deliverables: str, frames: int = 400_000
) -> Edition:
    """Join a map of the shots, with scans that are away, whose frames it states."""
    reels = dict.fromkeys(shot.reel for shot in shots)
    lines = [HEAD, "reels:\n"]
    for reel in reels:
        first = min(shot.first for shot in shots if shot.reel == reel)
        last = max(shot.last for shot in shots if shot.reel == reel)
        lines.append(
            f"  - {{reel: '{reel}', scan: scan-{len(lines)}.mkv, first: {first}, last: {last}, "
            f"frames: {frames}}}\n"
        )
    (folder / "shots.csv").write_text(shots_text(shots))
    lines.append(f"shots: shots.csv\nversions:\n{versions}deliverables:\n{deliverables}")
    path = folder / "lamp.yaml"
    path.write_text("".join(lines))
    return join(path)


def shots_text(shots: Iterable[Cut]) -> str:
    """Return shots as a map's table of them."""
    rows = (",".join("" if one is None else str(one) for one in shot) for shot in shots)
    return "reel,first,last,shot,kind,name\n" + "".join(f"{row}\n" for row in rows)


def programme(edition: Edition, *, runs: bool = False) -> Programme:
    """Return the first deliverable as lists tell it."""
    tell = runs_of if runs else programme_of
    return tell(edition, edition.makings[0])


def read_back(told: Programme, *, runs: bool = False) -> list[Cut]:
    """Write a programme's EDLs, read them again, and return the shots they hold."""
    ours = {name: OurReel(name=name) for name in told.scans}
    terms = Terms(rate=told.rate, reels=ours)
    texts = [edl_text(one.edl) for one in edl_files(told, runs=runs)]
    lists = [edl_shots(read_edl(text.encode(), LIST, told.rate), LIST, terms) for text in texts]
    shots, _ = collected(lists, LIST, terms)
    return cuts(shots)


def parsed(text: str, rate: int | str = 24) -> Edl:
    """Read an EDL from its text."""
    return read_edl(text.encode(), LIST, Rate(Fraction(rate)))


def unplaced(edl: Edl) -> Edl:
    """Return a list without the places that it was read from, and without what was odd in it."""
    edits = (
        replace(
            edit,
            place=UNWRITTEN,
            speed=edit.speed and replace(edit.speed, place=UNWRITTEN),
        )
        for edit in edl.edits
    )
    return replace(edl, edits=tuple(edits), findings=())
