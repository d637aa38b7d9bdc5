"""What is sifted from scans that are transfers, as the map or the pictures say."""

from __future__ import annotations

import os
from contextlib import suppress
from hashlib import sha256
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime import __version__
from retime.errors import DocumentError, ScanError
from retime.findings import Finding, Severity
from retime.media.countcache import users_cache
from retime.media.scan_digest import scan_digest
from retime.speedmap.baked import BakedFrom, sifting_of_pattern
from retime.speedmap.sifting import Sifting

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from retime.edition.scans import ReelScan
    from retime.signal.shown import Stretch
    from retime.speedmap.model import SpeedMap

__all__ = ["lost_finding", "sifted_scan", "sifting_of"]


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
    """Return what is found in a scan, remembered in the user's cache as long as it stays as it is.

    The file there is a cadence file like any other, held against the scan by its digest.
    """
    from retime.detect.finding import detect  # noqa: PLC0415 - few maps ask for it
    from retime.signal.cadence_file import CadenceFile, cadence_text  # noqa: PLC0415 - the same

    remembered = _remembered(scan)
    if remembered is not None:
        with suppress(DocumentError, ValueError):
            return _kept(remembered, scan)
    found = detect(scan.path, _Silent(), first=scan.reel.first, last=scan.last)
    if remembered is not None:
        told = CadenceFile(
            scan=found.file.name,
            first=found.first,
            frames=found.frames,
            digest=found.digest,
            stretches=found.stretches,
        )
        with suppress(OSError):
            remembered.parent.mkdir(parents=True, exist_ok=True)
            work = remembered.with_suffix(f".{os.getpid()}")
            text = cadence_text(told, film_frames=found.film_frames, rate=None)
            work.write_text(text, encoding="utf-8")
            work.replace(remembered)
    return _sifting(found.stretches)


def _remembered(scan: ReelScan) -> Path | None:
    """Return where what was found in a scan is kept; None for a user without a home."""
    cache = users_cache()
    if cache is None:
        return None
    asked = (__version__, str(scan.path.resolve()), scan.reel.first, scan.last)
    return cache.with_name("cadences") / f"{sha256(repr(asked).encode()).hexdigest()}.yaml"


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
    if scan.facts is not None and scan_digest(scan.facts) != kept.digest:
        raise ValueError(f"{path} tells of another scan, or this one has changed since")
    return _sifting(kept.stretches)


def _sifting(stretches: Sequence[Stretch]) -> Sifting:
    """Return the film frames of which both fields are to be had; those with one are ``lost``.

    At the ends that is no loss: the film goes on there outside the scan. Raises ValueError where
    one in between is nowhere but in mixtures.
    """
    from retime.signal.shown import film_frames  # noqa: PLC0415 - few maps ask for it

    frames = list(film_frames(stretches))
    whole = [frame for frame in frames if frame.upper is not None and frame.lower is not None]
    if not whole:
        raise ValueError("no film frame can be had from it unmixed")
    inside = range(whole[0].number, whole[-1].number + 1)
    lost = [one for one in frames if one.number in inside and None in {one.upper, one.lower}]
    mixed = [one for one in lost if one.upper is None and one.lower is None]
    if mixed:
        raise ValueError(
            f"{len(mixed)} film frames are nowhere to be had unmixed, the first in "
            f"scan frame {mixed[0].first}"
        )
    woven = {
        place: (frame.upper, frame.lower)
        for place, frame in enumerate(whole)
        if frame.upper is not None
        and frame.lower is not None
        and (frame.upper, frame.lower) != (frame.first, frame.first)
    }
    return Sifting(
        names=tuple(frame.first for frame in whole),
        woven=woven,
        lost=tuple(frame.first for frame in lost),
    )


def lost_finding(scan: ReelScan, lost: Sequence[int]) -> Finding:
    """Return the warning that film frames of a scan are left out, by their first scan frames."""
    text = f"{len(lost)} film frames have a single field and are left out"
    if len(lost) == 1:
        text = "a film frame has a single field and is left out"
    return Finding(
        place=scan.reel.where.of("cadence"),
        rule="cadence",
        text=f"{text}: scan frame {lost[0]}" + (" and on" if len(lost) > 1 else ""),
        hint="the transfer was edited there, between two fields",
        severity=Severity.WARNING,
    )


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
