"""What is known of each reel's scan, without decoding any of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError, ScanError
from retime.findings import Finding
from retime.media.count import frame_count
from retime.media.countcache import users_cache
from retime.media.probe import probe
from retime.media.sequence import list_sequence
from retime.picture.framing import framed_format
from retime.plan.assembly import Hole
from retime.plan.timeline import Shows
from retime.speedmap.model import Missing
from retime.yamldoc.quoting import listed

if TYPE_CHECKING:
    from pathlib import Path

    from retime.light.format import PictureFormat
    from retime.media.facts import ScanFacts
    from retime.media.sequence import Sequence
    from retime.speedmap.model import Reel, SpeedMap
    from retime.speedmap.sifting import Sifting

__all__ = ["ReelScan", "scan_of"]


class ReelScan(Struct, frozen=True, kw_only=True):
    """A reel and its scan.

    ``frames`` is how many positions the scan holds, or film frames where it is sifted: ``sifting``
    then says which, and ``positions`` how many the scan holds. ``facts`` is None where the scan is
    away; ``away`` then says so. ``picture`` is what its pictures are once they are framed as the
    map says. ``sequence`` lists a numbered scan's files.
    """

    reel: Reel
    path: Path
    frames: int
    facts: ScanFacts | None
    picture: PictureFormat | None = None
    sequence: Sequence | None = None
    away: str | None = None
    sifting: Sifting | None = None
    positions: int | None = None

    @property
    def held(self) -> int:
        """How many positions the scan holds, whatever is sifted from it."""
        return self.frames if self.positions is None else self.positions

    def told(self, frame: int) -> int:
        """Return the number by which a film frame is told: the scan frame in which it begins."""
        return frame if self.sifting is None else self.sifting.names[frame]

    @property
    def last(self) -> int:
        """The last frame of picture."""
        return self.frames - 1 if self.reel.last is None else self.reel.last

    def holes(self) -> tuple[Hole, ...]:
        """Return the holes that the map lets pass, and what they show."""
        if self.sequence is None or self.reel.missing is Missing.STOP:
            return ()
        shows = Shows.STILL if self.reel.missing is Missing.HOLD else Shows.BLACK
        return tuple(
            Hole(first=hole.first, count=hole.count, shows=shows) for hole in self.sequence.holes
        )

    @property
    def missing_runs(self) -> tuple[range, ...]:
        """The film frames of picture for which there is no file, run by run."""
        picture = range(self.reel.first, self.last + 1)
        runs = (range(hole.first, hole.first + hole.count) for hole in self.holes())
        within = (range(max(one.start, picture.start), min(one.stop, picture.stop)) for one in runs)
        return tuple(one for one in within if one)

    @property
    def missing_said(self) -> str | None:
        """What to tell of film frames for which there is no file, None where there are all."""
        runs = self.missing_runs
        if not runs:
            return None
        frames = listed(str(one[0]) if len(one) == 1 else f"{one[0]} to {one[-1]}" for one in runs)
        shown = "the picture before is held" if self.reel.missing is Missing.HOLD else "black"
        return f"reel {self.reel.name}: no file for film frames {frames}: {shown}"


def scan_of(speed_map: SpeedMap, reel: Reel, *, must_be_there: bool) -> ReelScan | Finding:
    """Return what is known of a reel's scan, or what is wrong with it, at the line that names it.

    A scan that is away is none wrong where the map states ``frames`` and it need not be there.
    """
    path = speed_map.scan_path(reel)
    try:
        return _known(reel, path)
    except NotationError as error:
        return Finding(
            place=reel.where.of("area" if reel.framing and reel.framing.area else "scan"),
            rule="framing",
            text=error.text,
            hint=error.hint,
        )
    except ScanError as error:
        if reel.frames is not None and not must_be_there and _away(reel, path):
            return ReelScan(
                reel=reel, path=path, frames=reel.frames, facts=None, away=f"{path} is away"
            )
        detail = f" ({error.detail})" if error.detail else ""
        return Finding(
            place=reel.where.of("scan"),
            rule="scan",
            text=f"{error.path}: {error.text}{detail}",
            hint=error.hint,
        )


def _known(reel: Reel, path: Path) -> ReelScan:
    sequence = list_sequence(path) if reel.is_sequence else None
    facts = probe(path)
    frames = reel.frames
    if frames is None:
        frames = sequence.positions if sequence else frame_count(facts, cache=users_cache())
    if sequence is not None:
        _check_sequence(reel, path, sequence)
    picture = facts.picture
    if reel.framing is not None:
        picture = framed_format(picture, reel.framing)
    return ReelScan(
        reel=reel, path=path, frames=frames, facts=facts, picture=picture, sequence=sequence
    )


def _check_sequence(reel: Reel, path: Path, sequence: Sequence) -> None:
    """Refuse a listing that is at odds with the map; it costs no reading."""
    if reel.frames is not None and reel.frames != sequence.positions:
        raise ScanError(
            path,
            f"holds {sequence.positions} frames, missing files counted, "
            f"and the map states {reel.frames}",
            "correct the map, or find the files that are missing",
        )
    last = sequence.positions - 1 if reel.last is None else reel.last
    holes = [
        hole
        for hole in sequence.holes
        if hole.first <= last and hole.first + hole.count > reel.first
    ]
    if holes and reel.missing is Missing.STOP:
        missing = sum(hole.count for hole in holes)
        first = max(holes[0].first, reel.first)
        name = path.name % sequence.number_at(first)
        what = f"{missing} files are missing, the first" if missing > 1 else "a file is missing"
        raise ScanError(
            path,
            f"{what}, {name}, being frame {first}",
            "find what is missing, or say missing: hold or missing: black",
        )


def _away(reel: Reel, path: Path) -> bool:
    return not (path.parent.exists() if reel.is_sequence else path.exists())
