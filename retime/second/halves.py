"""Pictures taken apart into upper and lower fields, small, and fine enough to see noise in.

What the stream says of the order of its fields is not heeded: the upper one always comes first.
"""

from __future__ import annotations

from typing import IO, TYPE_CHECKING, NamedTuple

import numpy as np

from retime.errors import ScanError
from retime.second.program import Running

if TYPE_CHECKING:
    from collections.abc import Generator

    from numpy.typing import NDArray

    from retime.second.pictures import Source

__all__ = ["Half", "Halves", "look_at_halves"]

_CODE = 257  # of 16 bits to a code of 8
_SIGNS = (
    *("error while decoding", "invalid data", "corrupt", "concealing", "mismatch"),
    *("ended prematurely", "partial file", "truncat"),
)


class Half(NamedTuple):
    """A field: luma in codes of 0 to 255, shape (rows, columns), and the same as raw bytes.

    Codes are means of areas, exact to a part in 65,536: fields whose bytes are the same had the
    same luma, for no two film frames have the same grain.
    """

    codes: NDArray[np.float32]
    raw: bytes


class Halves(NamedTuple):
    """A picture's two fields."""

    upper: Half
    lower: Half


def look_at_halves(
    source: Source, columns: int, rows: int, *, first: int = 0, count: int | None = None
) -> Generator[Halves]:
    """Yield pictures from number ``first`` on, ``count`` of them or all; fields have ``rows``.

    An odd last line is left out. Raises ScanError where the program cannot read the file, or says
    that some of it is damaged; whatever could be read has been yielded by then.
    """
    arguments = [*_input(source), *_outputs(columns, rows, first, count)]
    with Running(arguments) as running:
        while True:
            upper = _half(running.out, columns, rows)
            lower = _half(running.out, columns, rows)
            if upper is None or lower is None:
                break
            yield Halves(upper, lower)
        code, words = running.done(), running.words()
    if code or any(sign in words.lower() for sign in _SIGNS):
        last = next((line for line in reversed(words.splitlines()) if line.strip()), "")
        raise ScanError(
            source.path, "the ffmpeg program cannot read all of it", detail=last.strip()
        )


def _input(source: Source) -> list[str]:
    path = str(source.path.absolute())
    if source.first_number is None:
        return ["-noautorotate", "-protocol_whitelist", "file", "-i", path]
    return ["-f", "image2", "-start_number", str(source.first_number), "-i", path]


def _outputs(columns: int, rows: int, first: int, count: int | None) -> list[str]:
    """Return the filters and what their pictures are written to."""
    last = "" if count is None else f":end_frame={first + count}"
    trim = f"trim=start_frame={first}{last}," if first or last else ""
    apart = f"{trim}crop=iw:trunc(ih/2)*2:0:0:exact=1,setfield=tff,separatefields"
    small = f"scale={columns}:{rows}:flags=area,format=gray16le"
    written = ["-fps_mode", "passthrough", "-f", "rawvideo", "pipe:1"]
    return ["-map", "0:v:0", "-vf", f"{apart},{small}", *written]


def _half(out: IO[bytes], columns: int, rows: int) -> Half | None:
    raw = out.read(2 * columns * rows)
    if len(raw) < 2 * columns * rows:
        return None
    codes = np.frombuffer(raw, "<u2").reshape(rows, columns).astype(np.float32)
    codes /= _CODE
    return Half(codes, raw)
