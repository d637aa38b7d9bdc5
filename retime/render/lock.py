"""One render at a time in a folder: a lock that the system takes back however a render ends."""

from __future__ import annotations

import errno
import fcntl
import os
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from retime.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

__all__ = ["sole_render"]

_NAME = ".retime-lock"
_NOT_WRITABLE = {errno.EROFS, errno.EACCES, errno.EPERM, errno.ENOSPC, errno.EDQUOT}
_ALWAYS = os.O_NOFOLLOW | os.O_CLOEXEC
_TAKEN = {errno.EWOULDBLOCK, errno.EACCES}


@contextmanager
def sole_render(folder: Path, tell: Callable[[str], None]) -> Iterator[None]:
    """Keep other renders out of a folder; raises OutputError where one is at work there.

    A folder that cannot be written to is left to whoever writes there first and tells what is
    wrong. ``tell`` takes that locks do not work on the folder's disk.
    """
    path = folder / _NAME
    handle = _opened(path)
    if handle is None:
        yield
        return
    try:
        if not _locked(handle, folder):
            tell(f"{folder}: locks do not work here; see to it that nothing else renders into it")
    except OutputError:
        os.close(handle)
        raise
    try:
        yield
    finally:
        # Removed while it is still held: whoever comes next makes a new one. Where it may not be
        # removed, as another user's, it may stay: nobody holds it any more.
        with suppress(OSError):
            path.unlink()
        os.close(handle)


def _opened(path: Path) -> int | None:
    """Return a handle on the lock that is there now, None where none can be made."""
    try:
        return os.open(path, os.O_RDWR | os.O_CREAT | _ALWAYS, 0o666)
    except OSError as error:
        if error.errno not in _NOT_WRITABLE:
            raise _no_lock(path, error) from error
    try:  # another user's may not be written to, but held
        return os.open(path, os.O_RDONLY | os.O_NONBLOCK | _ALWAYS)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise _no_lock(path, error) from error


def _no_lock(path: Path, error: OSError) -> OutputError:
    return OutputError(path, "cannot be opened", "remove it", error.strerror or "")


def _locked(handle: int, folder: Path) -> bool:
    """Lock, and tell whether that works; raises OutputError where another has it."""
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in _TAKEN:
            raise _busy(folder) from error
        return False
    try:
        same = os.path.samestat(os.fstat(handle), (folder / _NAME).lstat())
    except FileNotFoundError:
        same = False
    if not same:  # the one that had it removed the name just now
        raise _busy(folder)
    return True


def _busy(folder: Path) -> OutputError:
    return OutputError(
        folder, "is being rendered into", "wait for the other render, or take another folder"
    )
