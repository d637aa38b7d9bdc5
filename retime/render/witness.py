"""Whether scans are still what they were when they were looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import ScanError
from retime.media.bridge import check_file
from retime.media.sequence import list_sequence

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from retime.edition.scans import ReelScan

__all__ = ["Stamp", "check_unchanged", "stamps_of"]


class Stamp(Struct, frozen=True, kw_only=True):
    """What shows at once that a scan was changed: bytes, when, and how many files there are."""

    bytes: int
    changed_ns: int
    files: int = 1


def stamps_of(scans: Iterable[ReelScan]) -> dict[str, Stamp]:
    """Return each scan's stamp, by its reel's name.

    Raises ScanError for one that is not what it was when its headers were read.
    """
    stamps = {scan.reel.name: _stamp(scan) for scan in scans}
    for scan in scans:
        stamp, facts = stamps[scan.reel.name], scan.facts
        if facts is not None and (facts.bytes, facts.changed_ns) != (stamp.bytes, stamp.changed_ns):
            raise _changed(scan)
    return stamps


def check_unchanged(scans: Iterable[ReelScan], stamps: Mapping[str, Stamp]) -> None:
    """Raise ScanError for a scan that was written to since its stamp was taken."""
    for scan in scans:
        if _stamp(scan) != stamps[scan.reel.name]:
            raise _changed(scan)


def _stamp(scan: ReelScan) -> Stamp:
    if scan.sequence is not None:
        listed = list_sequence(scan.path)
        return Stamp(bytes=listed.bytes, changed_ns=listed.changed_ns, files=len(listed.numbers))
    status = check_file(scan.path)
    return Stamp(bytes=status.st_size, changed_ns=status.st_mtime_ns)


def _changed(scan: ReelScan) -> ScanError:
    return ScanError(
        scan.path,
        "was changed since it was looked at",
        "let whatever writes it come to its end, and render again",
    )
