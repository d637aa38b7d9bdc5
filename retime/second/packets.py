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

    ``times`` are when they are shown and ``durations`` for how long, both in ``tick`` seconds;
    ``times`` is None where not all packets have one. ``sizes`` are in bytes.
    """

    tick: Fraction
    times: NDArray[np.int64] | None
    durations: NDArray[np.int64]
    sizes: NDArray[np.int64]

    def __len__(self) -> int:
        """Return how many packets there are."""
        return len(self.sizes)

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
        stream, _, time, duration, size, _ = line.split(b",", 5)
        column = columns.setdefault(int(stream), array("q"))
        column.extend((int(time), int(duration), int(size)))
    return tuple(_listed(tick, columns.get(stream)) for stream, tick in sorted(ticks.items()))


def _listed(tick: Fraction, column: array[int] | None) -> Listed:
    rows = np.array(column or (), np.int64).reshape(-1, 3)
    timed = len(rows) and (rows[:, 0] != _NONE).all()
    return Listed(
        tick=tick, times=rows[:, 0] if timed else None, durations=rows[:, 1], sizes=rows[:, 2]
    )
