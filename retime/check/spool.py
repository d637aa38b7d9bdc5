"""Small pictures kept in a file, so that any can be had again and memory stays as it is."""

from __future__ import annotations

import tempfile
import weakref
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from retime.second.pictures import Source, View, look

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["HEIGHT", "WIDTH", "Small", "Spool", "spooled"]

WIDTH, HEIGHT = 64, 48
"""What a picture is reduced to: small enough for grain and coding noise to go, and large enough for
a limb's movement to stay."""

Small: TypeAlias = NDArray[np.float32]
"""A small picture as one row of WIDTH x HEIGHT codes."""

_DIGEST = 16


class Spool:
    """Small pictures and their digests, by number, written once and read in any order."""

    def __init__(self) -> None:
        """Begin with none."""
        self._file = tempfile.TemporaryFile()  # noqa: SIM115 - closed once it is mapped
        weakref.finalize(self, self._file.close)
        self._kept: NDArray[np.void] | None = None
        self._record = np.dtype([("digest", f"S{_DIGEST}"), ("codes", np.uint8, (WIDTH * HEIGHT,))])
        self.count = 0

    def add(self, picture: NDArray[np.uint8], digest: str | None) -> None:
        """Keep one more; none once any has been looked at."""
        written = bytes.fromhex(digest) if digest else bytes(_DIGEST)
        self._file.write(written.ljust(_DIGEST, b"\0")[:_DIGEST] + picture.tobytes())
        self.count += 1

    def picture(self, number: int) -> Small:
        """Return a small picture."""
        return np.asarray(self._records()[number]["codes"], np.float32)

    def digest(self, number: int) -> bytes:
        """Return a picture's digest."""
        return bytes(self._records()[number]["digest"])

    def _records(self) -> NDArray[np.void]:
        if self._kept is None:
            self._file.flush()
            self._kept = np.memmap(self._file, self._record, "r")
            self._file.close()
        return self._kept


def spooled(
    source: Source,
    view: View,
    *,
    first: int = 0,
    count: int | None = None,
    seen: Callable[[], None] | None = None,
) -> Spool:
    """Return what ``look`` yields, calling ``seen`` after each; raises ScanError as it does."""
    spool = Spool()
    for picture, digest in look(source, view, first=first, count=count):
        spool.add(picture, digest)
        if seen is not None:
            seen()
    return spool
