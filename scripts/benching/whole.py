"""A whole feature by every route: its memory, and its time against that of a part of it."""

from collections.abc import Iterator

from benching.bench import Bench
from benching.curves import Curve, Point, a_frame
from benching.figures import Found
from benching.lengths import ROUTES, Route
from benching.rows import Row
from benching.timing import in_turn

__all__ = ["feature"]

_ROUNDS = 3  # at most: one round takes as long as ten of anything else
_LINEAR = 1.1  # a tenth more than in proportion


def feature(bench: Bench) -> Iterator[Found]:
    """Render a feature of small pictures by every route, and a part of it."""
    for route in ROUTES:
        yield from _whole(bench, route)


def _whole(bench: Bench, route: Route) -> Iterator[Found]:
    scan = route.small(bench, bench.scale.feature)
    part = route.small(bench, bench.scale.part)
    maps = [route.map(part, 1), route.map(part), route.map(scan)]
    rounds = in_turn(
        f"feature, {route.name}",
        min(bench.runs, _ROUNDS),
        *route.runs(bench, maps),
    )
    scan.path.unlink()  # it would crowd out the others' scans
    what = f"{route.name}, {scan.frames:,} film frames of {route.pictures}"
    yield Row(
        name=f"{what}: peak memory of the process that holds most",
        figures=[whole.peak / 1e6 for _, _, whole in rounds],
        unit="MB",
        most=route.memory,
    )
    yield Row(
        name=f"{what}, over that of {part.frames:,}: peak memory",
        figures=[whole.peak / less.peak for _, less, whole in rounds],
        unit="x",
        told=True,
    )
    yield Row(
        name=f"{what}, over {part.frames:,}: time a frame, the start taken away",
        figures=[
            a_frame(whole.flushed, start.flushed, scan.frames)
            / a_frame(less.flushed, start.flushed, part.frames)
            for start, less, whole in rounds
        ],
        unit="x",
        most=_LINEAR,
    )
    yield Row(
        name="the same: a core's time a frame",
        figures=[
            a_frame(whole.busy, start.busy, scan.frames)
            / a_frame(less.busy, start.busy, part.frames)
            for start, less, whole in rounds
        ],
        unit="x",
        told=True,
    )
    starts = Point(at=1, figures=[start.flushed for start, _, _ in rounds])
    yield Curve(
        name=f"{route.name}, a whole feature of {route.pictures}, 20 in 24",
        across="film frames",
        unit="s",
        points=[
            Point(at=part.frames, figures=[less.flushed for _, less, _ in rounds]),
            Point(at=scan.frames, figures=[whole.flushed for _, _, whole in rounds]),
        ],
        start=starts.figure,
    )
