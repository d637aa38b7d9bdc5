"""What a preview is made from, in one digest: where it is the same, nothing is made again."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

from retime import __version__
from retime.errors import ScanError
from retime.media.bridge import last_words
from retime.media.countcache import state_of
from retime.preview.clips import clip_options
from retime.preview.pictures import QUALITY

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from retime.edition.scans import ReelScan
    from retime.preview.asked import Asked
    from retime.preview.subject import Subject

__all__ = ["digest_of"]

_MADE = 1
"""To be counted up whenever the same asked would be made otherwise."""


def digest_of(subject: Subject, asked: Asked) -> str:
    """Return the digest of a film's files, by path, size and time, and of what is asked.

    The map, its list of shots and its profiles are among the files. Raises ScanError for a file
    that is gone by now.
    """
    told = {
        "made": [__version__, _MADE, QUALITY, [clip_options(rate) for rate in asked.rates]],
        "map": subject.map_sha256,
        "gauge": subject.gauge.name,
        "asked": [
            asked.shots,
            asked.frames,
            [speed.text for speed in asked.speeds],
            [str(rate) for rate in asked.rates],
            asked.blend,
            asked.width,
            asked.seconds,
        ],
        "inputs": [_state(path) for path in subject.inputs],
        "scans": [list(_states(scan)) for scan in subject.scans],
    }
    text = json.dumps(told, sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def _state(path: Path) -> list[str | int]:
    try:
        state = state_of(path)
    except OSError as error:
        raise ScanError(path, "cannot be looked at", detail=last_words(error)) from error
    return [state.path, state.size, state.mtime_ns]


def _states(scan: ReelScan) -> Iterator[list[str | int]]:
    """Yield the state of a scan's file, or that of a sequence's pattern and then of its files.

    These may be a hundred thousand: where they lie is looked up once.
    """
    sequence = scan.sequence
    if sequence is None:
        yield _state(scan.path)
        return
    yield [str(scan.path.parent.resolve() / scan.path.name)]
    for position in range(sequence.positions):
        path = sequence.path_at(position)
        if path is None:
            continue
        try:
            status = path.stat()
        except OSError as error:
            raise ScanError(path, "cannot be looked at", detail=last_words(error)) from error
        yield [sequence.number_at(position), status.st_size, status.st_mtime_ns]
