"""The files that hold a reel's pictures, as the second reader is told of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.second.pictures import Source

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.edition.scans import ReelScan

__all__ = ["parts_of"]


def parts_of(scan: ReelScan) -> Iterator[tuple[Source, int, int, int]]:
    """Yield files, each with its first picture, how many there are, and the frame of the first."""
    first, last = scan.reel.first, scan.last
    if scan.sifting is not None:
        first = min(scan.sifting.whole(first))
        last = max(max(scan.sifting.whole(frame)) for frame in (last - 1, last) if frame >= 0)
    if scan.sequence is None:
        yield Source(path=scan.path), first, last - first + 1, first
        return
    start = scan.sequence.numbers[0]
    run: list[int] = []
    for number in scan.sequence.numbers:
        if run and number != run[-1] + 1:
            yield Source(path=scan.path, first_number=run[0]), 0, len(run), run[0] - start
            run = []
        if first <= number - start <= last:
            run.append(number)
    if run:
        yield Source(path=scan.path, first_number=run[0]), 0, len(run), run[0] - start
