"""Errors of writing told as ours, and files flushed to disk before they become final."""

from __future__ import annotations

import errno
import os
from contextlib import contextmanager
from typing import TYPE_CHECKING

import av

from retime.errors import OutputError
from retime.media.bridge import last_words

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["flush_to_disk", "writing"]

_REASONS = {
    errno.ENOSPC: ("the disk is full", "make room and render again"),
    errno.EDQUOT: ("the disk quota is used up", "make room and render again"),
    errno.EFBIG: ("is larger than this disk takes files", "render to another disk"),
    errno.EACCES: ("may not be written", "check who may write to the folder"),
    errno.EROFS: ("is on a disk that is read-only", "render to another folder"),
    errno.EEXIST: ("exists already", "use --force to overwrite it"),
    errno.ENOENT: ("is in a folder that is not there", "make the folder first"),
}


@contextmanager
def writing(path: Path, text: str = "cannot be written") -> Iterator[None]:
    """Turn errors of the system and of FFmpeg into OutputError about ``path``."""
    try:
        yield
    except (av.FFmpegError, OSError, ValueError) as error:
        known = _REASONS.get(getattr(error, "errno", None) or 0)
        if known is not None:
            raise OutputError(path, *known) from error
        raise OutputError(path, text, "", last_words(error)) from error


def flush_to_disk(path: Path) -> None:
    """Have the system write a file, or what a folder lists, to disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
