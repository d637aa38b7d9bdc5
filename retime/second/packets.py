"""Every packet of a file as the program lists it: when, for how long, how large.

Pictures and subtitles are listed as coded, sound as decoded, so that its samples are counted and
not believed.
"""

from __future__ import annotations

from array import array
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.errors import ScanError
from retime.second.program import Running

if TYPE_CHECKING:
    from pathlib import Path
    from typing import IO

    from numpy.typing import NDArray

__all__ = ["Listed", "listed"]

_NONE = -(1 << 63)  # how the program writes a time that is not there
_SOUND_BYTES = 2


class Listed(Struct, frozen=True, kw_only=True, eq=False):
    """The packets of one stream, in the order in which they stand in the file.

    ``times`` are when they are shown, ``decoded`` when they are decoded and ``durations`` for how
    long they are shown, in ``tick`` seconds; ``sizes`` are in bytes. A time that is not there is
    the least of 64 bits.
    """

    tick: Fraction
    times: NDArray[np.int64]
    decoded: NDArray[np.int64]
    durations: NDArray[np.int64]
    sizes: NDArray[np.int64]

    def __len__(self) -> int:
        """Return how many packets there are."""
        return len(self.sizes)

    @property
    def timed(self) -> bool:
        """Whether every packet has a time at which it is shown."""
        return bool((self.times != _NONE).all())

    @property
    def start(self) -> Fraction | None:
        """When the first is shown, in seconds; None where no time is told."""
        told = self.times[self.times != _NONE]
        return int(told.min()) * self.tick if len(told) else None

    @property
    def channels(self) -> int:
        """How many channels decoded sound has: two bytes are a sample."""
        samples = int(self.durations.sum()) * _SOUND_BYTES
        return int(self.sizes.sum()) // samples if samples else 0


def listed(path: Path, before: tuple[str, ...] = ()) -> tuple[Listed, ...]:
    """Return what is listed of the first stream of pictures, all of sound, all of subtitles.

    ``before`` are options of the input. Raises ScanError where the program cannot read to the end.
    """
    arguments = ["-protocol_whitelist", "file", "-copyts", *before, "-i", str(path.absolute())]
    arguments += ["-map", "0:v:0?", "-c:v", "copy", "-copyinkf:v"]
    arguments += ["-map", "0:a?", "-c:a", "pcm_s16le", "-map", "0:s?", "-c:s", "copy"]
    arguments += ["-f", "framecrc", "pipe:1"]
    with Running(arguments) as running:
        found = _read(running.out)
        if running.done():
            words = [line for line in running.words().splitlines() if line.strip()]
            detail = words[-1].strip() if words else ""
            raise ScanError(path, "the ffmpeg program cannot read all of it", detail=detail)
    return found


def _read(lines: IO[bytes]) -> tuple[Listed, ...]:
    ticks: dict[int, Fraction] = {}
    columns: dict[int, array[int]] = {}
    for line in lines:
        if line.startswith(b"#"):
            name, _, value = line[1:].decode("ascii", "replace").partition(":")
            if name.startswith("tb "):
                ticks[int(name[3:])] = Fraction(value.strip())
            continue
        stream, *numbers, _ = line.split(b",", 5)
        columns.setdefault(int(stream), array("q")).extend(map(int, numbers))
    return tuple(_listed(tick, columns.get(stream)) for stream, tick in sorted(ticks.items()))


def _listed(tick: Fraction, column: array[int] | None) -> Listed:
    rows = np.array(column or (), np.int64).reshape(-1, 4)
    decoded, times, durations, sizes = rows.T
    return Listed(tick=tick, times=times, decoded=decoded, durations=durations, sizes=sizes)
