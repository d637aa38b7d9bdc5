"""What is sifted from scans that are transfers, as the map or the pictures say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.errors import DocumentError
from retime.findings import Finding
from retime.speedmap.baked import sifting_of_pattern

if TYPE_CHECKING:
    from retime.edition.scans import ReelScan
    from retime.speedmap.model import SpeedMap
    from retime.speedmap.sifting import Sifting

__all__ = ["sifted_scan", "sifting_of"]


def sifting_of(scan: ReelScan) -> Sifting | None:
    """Return what is sifted from a reel's scan, None where it is clean.

    Raises DocumentError, at the line that says it, where it does not go with the scan.
    """
    if scan.reel.baked is None:
        return None
    try:
        return sifting_of_pattern(scan.reel.baked, scan.reel.first, scan.last)
    except ValueError as error:
        place = scan.reel.where.of("cadence")
        raise DocumentError([Finding(place=place, rule="cadence", text=str(error))]) from error


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
