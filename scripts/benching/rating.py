"""One speed in each of the rates, by the routes that encode, against ffmpeg."""

from collections.abc import Iterator
from typing import NamedTuple

from benching.bench import Bench
from benching.maps import RATES, SPEEDS, from_first
from benching.programs import encoder, ffmpeg, retimed
from benching.rows import Row
from benching.timing import in_turn

__all__ = ["rates"]

_SPEED = SPEEDS["slow"]
_ROUNDS = 3  # at most: there are many


class _Kind(NamedTuple):
    """A route, the scan and profile that lead to it, the file's ending, ffmpeg's further options.

    ``least`` bounds how many times faster than ffmpeg it is.
    """

    route: str
    scan: str
    profile: str
    ending: str
    more: tuple[str, ...]
    least: float


_KINDS = (
    _Kind("encode-once", "ffv1.mkv", "prores-mezzanine", "mov", (), 1),
    _Kind("stream", "prores-hq.mov", "h264-viewing", "mp4", ("-movflags", "faststart"), 0.95),
)


def rates(bench: Bench) -> Iterator[Row]:
    """Make one deliverable a rate: a ProRes file of an FFV1 scan, an H.264 copy of a ProRes one."""
    for kind in _KINDS:
        for rate in RATES:
            yield _row(bench, kind, rate)


def _row(bench: Bench, kind: _Kind, rate: int) -> Row:
    scan = bench.scans.drawn(kind.scan)
    owed = f"profile: {kind.profile}, rate: {rate}"
    speed_map = from_first(scan, scan.frames, str(_SPEED), owed, f"{kind.profile}-{rate}")
    target = bench.target(f"rate.{kind.ending}")
    options = ("-vf", retimed(_SPEED, rate), *encoder(kind.profile), *kind.more)
    pairs = in_turn(
        f"rates, {kind.route}, {rate}",
        min(bench.runs, _ROUNDS),
        lambda: bench.render(speed_map),
        lambda: bench.peer(ffmpeg("-i", scan.path, *options, target), [target]),
    )
    return Row(
        name=f"{kind.route}, `{kind.profile}`, {scan.frames} film frames, {_SPEED} in {rate}: "
        "times faster than ffmpeg",
        figures=[peer.flushed / ours.flushed for ours, peer in pairs],
        unit="x",
        least=kind.least,
    )
