"""What is sifted from scans that are transfers, as the map or the pictures say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.errors import DocumentError, ScanError
from retime.findings import Finding
from retime.speedmap.baked import BakedFrom, sifting_of_pattern
from retime.speedmap.sifting import Sifting

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from retime.edition.scans import ReelScan
    from retime.signal.shown import Stretch
    from retime.speedmap.model import SpeedMap

__all__ = ["sifted_scan", "sifting_of"]


def sifting_of(speed_map: SpeedMap, scan: ReelScan) -> Sifting | None:
    """Return what is sifted from a reel's scan, None where it is clean.

    Raises DocumentError, at the line that says it, where it does not go with the scan.
    """
    baked = scan.reel.baked
    if baked is None:
        return None
    try:
        match baked.known:
            case BakedFrom.PATTERN:
                return sifting_of_pattern(baked, scan.reel.first, scan.last)
            case BakedFrom.FILE:
                return _kept(speed_map.folder / baked.text, scan)
            case BakedFrom.DETECT:
                return _detected(scan)
    except (ScanError, ValueError) as error:
        place = scan.reel.where.of("cadence")
        raise DocumentError([Finding(place=place, rule="cadence", text=str(error))]) from error


class _Silent:
    """Nobody hears how far the looking is."""

    def start(self, pictures: int, note: str) -> None:
        """Ignore it."""

    def advance(self, pictures: int) -> None:
        """Ignore it."""

    def finish(self) -> None:
        """Ignore it."""


def _detected(scan: ReelScan) -> Sifting:
    from retime.detect.finding import detect  # noqa: PLC0415 - few maps ask for it

    found = detect(scan.path, _Silent(), first=scan.reel.first, last=scan.last)
    return _sifting(found.stretches)


def _kept(path: Path, scan: ReelScan) -> Sifting:
    """Return what a file tells that was kept; raises ValueError where it is of another scan."""
    from retime.signal.cadence_file import read_cadence  # noqa: PLC0415 - few maps ask for it

    kept = read_cadence(path)
    if kept.first > scan.reel.first or kept.first + kept.frames <= scan.last:
        last = kept.first + kept.frames - 1
        raise ValueError(
            f"{path} tells of pictures {kept.first} to {last}, and the reel has {scan.reel.first} "
            f"to {scan.last}"
        )
    return _sifting(kept.stretches)


def _sifting(stretches: Sequence[Stretch]) -> Sifting:
    """Return film frames of which both fields are to be had; those at the ends may have one.

    Raises ValueError where one in between is nowhere but in mixtures.
    """
    from retime.signal.shown import film_frames  # noqa: PLC0415 - few maps ask for it

    frames = list(film_frames(stretches))
    whole = [frame for frame in frames if frame.upper is not None and frame.lower is not None]
    if not whole:
        raise ValueError("no film frame can be had from it unmixed")
    inside = range(whole[0].number, whole[-1].number + 1)
    if len(inside) != len(whole):
        lost = next(
            one for one in frames if one.number in inside and None in {one.upper, one.lower}
        )
        raise ValueError(
            f"{len(inside) - len(whole)} film frames are nowhere to be had unmixed, the first in "
            f"scan frame {lost.first}"
        )
    woven = {
        place: (frame.upper, frame.lower)
        for place, frame in enumerate(whole)
        if frame.upper is not None
        and frame.lower is not None
        and (frame.upper, frame.lower) != (frame.first, frame.first)
    }
    return Sifting(names=tuple(frame.first for frame in whole), woven=woven)


def sifted_scan(scan: ReelScan, sifting: Sifting | None, speed_map: SpeedMap) -> ReelScan:
    """Return a scan as the house counts it, ``speed_map`` being the map in the house's numbers."""
    if sifting is None:
        return replace(scan, reel=speed_map.reel(scan.reel.name))
    picture = scan.picture
    if picture is not None and sifting.woven:
        picture = replace(picture, field_order="progressive")
    return replace(
        scan,
        reel=speed_map.reel(scan.reel.name),
        frames=len(sifting.names),
        positions=scan.frames,
        picture=picture,
        sifting=sifting,
    )
