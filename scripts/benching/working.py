"""Two workers against one, whose encoder has one thread; and what an encoder's own threads do."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import NamedTuple

from benching.bench import Bench
from benching.composing import grey_scan
from benching.maps import from_first
from benching.owned import with_threads
from benching.rows import Row
from benching.scans import Scan
from benching.timing import Run, in_turn

__all__ = ["workers"]

_PIECES = 10  # of a scan; retime cuts the last four of them ever shorter
_PRORES, _FFV1, _H264 = "prores-mezzanine", "ffv1-master", "h264-viewing"


class _Kind(NamedTuple):
    """A kind of work: what it is called, its profile and method, and how much faster at least.

    Pieces are ``times`` as long as the scale's, so that each takes some ten seconds.
    """

    name: str
    profile: str
    method: str
    least: float
    times: int


_KINDS = (
    _Kind("encode-once, ProRes", _PRORES, "repeat", 1.7, 1),
    _Kind("encode-once, FFV1", _FFV1, "repeat", 1.7, 2),
    _Kind("blended ProRes", _PRORES, "blend", 1.6, 1),
)


def workers(bench: Bench) -> Iterator[Row]:
    """Render by one worker and by two, one thread to an encoder; then with the profiles' own."""
    frames = _PIECES * bench.scale.piece
    plain = bench.scans.looped("prores-422.mov", frames=max(one.times for one in _KINDS) * frames)
    grey = bench.scans.played(grey_scan(bench), frames=frames, name="grey.mov")
    for kind in _KINDS:
        yield from _one_against_two(bench, kind, grey if kind.method == "blend" else plain)
    for profile in (_PRORES, _FFV1, _H264):
        yield from _own_threads(bench, profile, plain)


def _one_against_two(bench: Bench, kind: _Kind, scan: Scan) -> Iterator[Row]:
    profile, piece = with_threads(bench, kind.profile, 1), kind.times * bench.scale.piece
    speed_map = _map(scan, _PIECES * piece, profile, kind.method)
    rounds = in_turn(
        f"workers, {kind.name}",
        bench.runs,
        *(partial(_render, bench, speed_map, number, piece) for number in (1, 2)),
    )
    yield Row(
        name=f"{kind.name}, {_PIECES * piece:,} film frames in pieces of {piece}, one thread to an "
        "encoder: two workers, times faster than one",
        figures=[one.flushed / two.flushed for one, two in rounds],
        unit="x",
        least=kind.least,
    )
    yield Row(
        name="the same: cores that one worker keeps busy, its scan being decoded beside",
        figures=[one.busy / one.seconds for one, _ in rounds],
        unit="cores",
        told=True,
    )


def _own_threads(bench: Bench, profile: str, scan: Scan) -> Iterator[Row]:
    """Yield what two workers gain where an encoder has the threads of its profile."""
    piece = bench.scale.piece
    speed_map = _map(scan, _PIECES * piece, profile, "repeat")
    rounds = in_turn(
        f"workers, {profile} as it is",
        bench.runs,
        *(partial(_render, bench, speed_map, number, piece) for number in (1, 2)),
    )
    yield Row(
        name=f"`{profile}` as it is, threads and all: cores that one worker keeps busy",
        figures=[one.busy / one.seconds for one, _ in rounds],
        unit="cores",
        told=True,
    )
    yield Row(
        name="the same: two workers, times faster than one",
        figures=[one.flushed / two.flushed for one, two in rounds],
        unit="x",
        told=True,
    )


def _map(scan: Scan, frames: int, profile: str, method: str) -> Path:
    owed = f"profile: {profile}, rate: 24"
    if method == "blend":
        owed += ", method: blend"
    return from_first(scan, frames, "20", owed, f"{profile}-{method}-{frames}")


def _render(bench: Bench, speed_map: Path, number: int, piece: int) -> Run:
    return bench.render(speed_map, "--pieces", str(piece), "--workers", str(number))
