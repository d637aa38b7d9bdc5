"""Frame counts that took time to find out, remembered by a file's path, size and time.

A record that is missing, broken or about another state of the file is as none, and a folder
that cannot be written only means that nothing is remembered.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from contextlib import suppress
from pathlib import Path

from msgspec import Struct
from msgspec.structs import asdict

from retime.media.facts import FrameCount

__all__ = ["FileState", "recall", "remember", "state_of", "users_cache"]

_FORMAT = "retime-count/1"


class FileState(Struct, frozen=True, kw_only=True):
    """What tells one state of a file from another: full path, bytes, time of last change."""

    path: str
    size: int
    mtime_ns: int


def users_cache() -> Path | None:
    """Return where this user's counts are kept; None for a user without a home.

    XDG Base Directory Specification: XDG_CACHE_HOME where it is an absolute path, else ~/.cache.
    """
    stated = Path(os.environ.get("XDG_CACHE_HOME", ""))
    if stated.is_absolute():
        return stated / "retime" / "counts"
    with suppress(RuntimeError):
        return Path.home() / ".cache" / "retime" / "counts"
    return None


def state_of(path: Path) -> FileState:
    """Return a file's state; to be taken before the file is counted."""
    status = path.stat()
    return FileState(path=str(path.resolve()), size=status.st_size, mtime_ns=status.st_mtime_ns)


def recall(cache: Path, state: FileState) -> FrameCount | None:
    """Return what is remembered of a file in that state, None for nothing."""
    try:
        record = json.loads(_place(cache, state).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(record, dict):
        return None
    frames, all_keys = record.pop("frames", None), record.pop("all_keys", None)
    sound = type(frames) is int and frames >= 0 and type(all_keys) is bool
    if not sound or record != _heading(state):
        return None
    return FrameCount(frames=frames, all_keys=all_keys)


def remember(cache: Path, state: FileState, count: FrameCount) -> None:
    """Write a record, whole or not at all; without a word where that is not possible."""
    text = json.dumps(_heading(state) | asdict(count))
    with suppress(OSError, ValueError):
        cache.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=cache, prefix=".new-")
        temporary = Path(name)
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
            temporary.replace(_place(cache, state))
        finally:
            temporary.unlink(missing_ok=True)


def _heading(state: FileState) -> dict[str, object]:
    return {"format": _FORMAT} | asdict(state)


def _place(cache: Path, state: FileState) -> Path:
    name = hashlib.sha256(os.fsencode(state.path)).hexdigest()
    return cache / f"{name}.json"
