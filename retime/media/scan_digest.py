"""A short digest by which a scan is known again: quick to take however long the scan is."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from retime.media.bridge import reading
from retime.media.facts import Form
from retime.media.sequence import list_sequence

if TYPE_CHECKING:
    from pathlib import Path

    from retime.media.facts import ScanFacts

__all__ = ["scan_digest"]

_PART = 1 << 20


def scan_digest(facts: ScanFacts) -> str:
    """Return SHA-256 over a scan's size in bytes, in digits, its first and its last MiB.

    Of numbered files it is the size of all of them, with the first MiB of the first file and the
    last MiB of the last. Raises ScanError where they cannot be read.
    """
    first = last = facts.path
    if facts.form is Form.SEQUENCE:
        sequence = list_sequence(facts.path)
        first = sequence.first_path
        last = facts.path.with_name(facts.path.name % sequence.numbers[-1])
    digest = hashlib.sha256(str(facts.bytes).encode("ascii"))
    digest.update(_part(first, 0))
    digest.update(_part(last, -_PART))
    return digest.hexdigest()


def _part(path: Path, begin: int) -> bytes:
    with reading(path), path.open("rb") as file:
        size = file.seek(0, 2)
        file.seek(max(0, size + begin) if begin < 0 else begin)
        return file.read(_PART)
