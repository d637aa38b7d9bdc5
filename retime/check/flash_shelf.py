"""Blocks of pictures kept in a file, so that any can be had again and memory stays as it is."""

from __future__ import annotations

import tempfile
import zlib
from array import array
from typing import TYPE_CHECKING

import numpy as np

from retime.check.flash_blocks import COLUMNS, ROWS

if TYPE_CHECKING:
    from retime.check.flash_blocks import Codes

__all__ = ["Shelf"]

_QUICK = 1


class Shelf:
    """Blocks by number, written once and read in any order; 8 bytes of memory a picture."""

    def __init__(self) -> None:
        """Begin with none."""
        self._file = tempfile.TemporaryFile()  # noqa: SIM115 - closed with the shelf
        self._ends = array("Q", [0])

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self._ends) - 1

    def add(self, codes: Codes) -> None:
        """Keep one more."""
        # Plane by plane, three of which are alike where there is no colour.
        packed = zlib.compress(np.moveaxis(codes, -1, 0).tobytes(), _QUICK)
        self._file.seek(self._ends[-1])
        self._file.write(packed)
        self._ends.append(self._ends[-1] + len(packed))

    def picture(self, number: int) -> Codes:
        """Return the blocks of a picture, counted from 0."""
        start, stop = self._ends[number], self._ends[number + 1]
        self._file.seek(start)
        planes = np.frombuffer(zlib.decompress(self._file.read(stop - start)), np.uint8)
        return np.ascontiguousarray(np.moveaxis(planes.reshape(3, ROWS, COLUMNS), 0, -1))
