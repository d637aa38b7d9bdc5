"""Everything that decides what the pieces of a render look like, by names that a person knows."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING

import av
import numpy as np
from msgspec.structs import replace

from retime import __version__
from retime.media.bridge import check_file
from retime.media.scan_digest import scan_digest
from retime.render.sinks import encoder_settings
from retime.render.store import file_digest

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from retime.edition.edition import Edition
    from retime.edition.plates import PlateSource
    from retime.edition.scans import ReelScan
    from retime.render.order import Order
    from retime.render.pieces import Cut
    from retime.render.witness import Stamp

__all__ = ["decisions_of", "plate_mark", "scan_mark", "versions"]


def decisions_of(
    edition: Edition,
    orders: Sequence[Order],
    cuts: Iterable[Cut],
    stamps: Mapping[str, Stamp],
) -> dict[str, str]:
    """Return digests, by what they are of; the same render has the same ones.

    Raises ScanError for a scan that cannot be read.
    """
    cuts = tuple(cuts)
    decided = {"the map": edition.speed_map.sha256}
    for scan in edition.scans:
        decided[f"the scan {scan.path}"] = f"{stamps[scan.reel.name]} {scan_mark(scan)}"
    for source in edition.plates.values():
        decided[f"the picture {source.path}"] = plate_mark(source)
    for order in orders:
        profile = replace(order.profile, path=Path())
        decided[f"the profile {order.profile.name}"] = _digest([repr(profile)])
        decided[f"the plan of {order.name}"] = _digest(_plan(order, cuts))
    decided["where pieces are cut"] = _digest(repr(cut.pieces) for cut in cuts)
    return decided | {f"the version of {name}": one for name, one in versions().items()}


def versions() -> dict[str, str]:
    """Return the versions of what makes pictures."""
    libraries = " ".join(".".join(map(str, one)) for one in av.library_versions.values())
    return {
        "retime": __version__,
        "PyAV": av.__version__,
        "FFmpeg": f"{av.ffmpeg_version_info} {libraries}",
        "NumPy": np.__version__,
    }


def scan_mark(scan: ReelScan) -> str:
    """Return by what a scan is known again: its size, its first and its last megabyte."""
    if scan.facts is None:
        raise TypeError(f"reel {scan.reel.name} has no scan")
    return scan_digest(scan.facts)


def plate_mark(source: PlateSource) -> str:
    """Return by what a file that plates come from is known again."""
    if source.facts is not None:
        return scan_digest(source.facts)
    check_file(source.path)
    return file_digest(source.path)


def _plan(order: Order, cuts: Iterable[Cut]) -> Iterator[str]:
    yield from (cut.plans.get(order.name, "") for cut in cuts)
    yield f"{order.container} {order.picture} {order.scanning} {order.timecode} {order.drop_frame}"
    yield f"{order.rate} {order.metadata} {order.look()} {order.outputs}"
    if order.profile.codec is not None:
        yield repr(encoder_settings(order))


def _digest(texts: Iterable[str]) -> str:
    digest = hashlib.blake2b(digest_size=16)
    for text in texts:
        digest.update(text.encode() + b"\n")
    return digest.hexdigest()
