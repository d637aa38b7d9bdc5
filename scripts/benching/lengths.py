"""What renders and reports cost as films grow longer, or have more shots.

The pictures are small, so that lengths are what costs. A render's start, measured on a map of one
film frame, is taken away before lengths are compared: what is left is to grow as the length does.
One worker makes all, in pieces: others would have starts of their own.
"""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import NamedTuple

from benching.bench import Bench
from benching.curves import Curve, Point, a_frame
from benching.figures import Found
from benching.maps import from_first
from benching.programs import retime
from benching.rows import Row
from benching.scans import Scan
from benching.starting import FRAMES, KINDS, SHOTS, shots_map
from benching.timing import Run, in_turn, run, settled

__all__ = ["ROUTES", "Route", "lengths", "shots"]

_TIMES = (1, 2, 4, 8, 16)
_SHOTS = (100, 300, 1_000, 3_000)
_LINEAR = 1.1  # a tenth more than in proportion
_REPORT = 1.2  # as promised for ten times the frames


class Route(NamedTuple):
    """A route, the scan and profile that lead to it, the most MB, and how quick it is.

    Lengths begin at ``steps`` of the scale's steps, so that the least take seconds. The route that
    mostly takes memory has the smallest pictures, so that the longest film takes no more of it
    than is soon free again.
    """

    name: str
    scan: str
    profile: str
    memory: float
    steps: float
    raster: tuple[int, int] = (160, 120)

    @property
    def pictures(self) -> str:
        """The size of its pictures, in words."""
        return "{}x{}".format(*self.raster)

    def map(self, scan: Scan, frames: int | None = None) -> Path:
        """Write a map of a deliverable, 20 in 24, of all of a scan or of its first ``frames``."""
        count = frames or scan.frames
        owed = f"profile: {self.profile}, rate: 24"
        return from_first(scan, count, "20", owed, f"{self.profile}-{count}")

    def small(self, bench: Bench, frames: int) -> Scan:
        """Return a scan of small pictures with so many frames at least."""
        return bench.scans.small(frames=frames, name=self.scan, raster=self.raster)

    def runs(self, bench: Bench, maps: Sequence[Path], *options: str) -> list[Callable[[], Run]]:
        """Return the renders of maps: of one frame, of a short film, and of longer ones.

        The first two are repeated, for what they are off by counts sixteen times against the
        longest; and so is all that mostly takes memory.
        """
        sides = [partial(bench.render, one, *options) for one in maps]
        short = len(sides) if self.name == "copy" else 2
        return [*(partial(settled, one) for one in sides[:short]), *sides[short:]]


ROUTES = (
    # a long-GOP encoder may hold 450 MB besides
    Route("copy", "prores-hq.mov", "as-scanned", 400, 8, (80, 60)),
    Route("encode-once", "prores-422.mov", "prores-mezzanine", 400, 1),
    Route("stream", "prores-hq.mov", "h264-viewing", 850, 1),
)


def lengths(bench: Bench) -> Iterator[Found]:
    """Render by every route, and report, at lengths from one to sixteen times the least."""
    for route in ROUTES:
        yield from _renders(bench, route)
    for kind in KINDS:
        yield from _reports(bench, kind)


def _renders(bench: Bench, route: Route) -> Iterator[Found]:
    least = round(bench.scale.step * route.steps)
    scans = [route.small(bench, times * least) for times in _TIMES]
    maps = [route.map(scans[0], 1), *map(route.map, scans)]
    options = ("--workers", "1", "--pieces", str(bench.scale.step // 2))
    sides = route.runs(bench, maps, *options)
    rounds = in_turn(f"lengths, {route.name}", bench.runs, *sides)
    frames = [scan.frames for scan in scans]
    spans = f"{frames[-1]:,} film frames of {route.pictures} over {frames[0]:,}"
    yield Row(
        name=f"{route.name}, {spans}: time a frame, the start taken away, one worker",
        figures=[_more([one.flushed for one in runs], frames) for runs in rounds],
        unit="x",
        most=_LINEAR,
    )
    yield Row(
        name="the same: a core's time a frame",
        figures=[_more([one.busy for one in runs], frames) for runs in rounds],
        unit="x",
        told=True,
    )
    starts = Point(at=1, figures=[runs[0].flushed for runs in rounds])
    yield Curve(
        name=f"{route.name}, pictures of {route.pictures}, 20 in 24",
        across="film frames",
        unit="s",
        points=_points(frames, [[one.flushed for one in runs[1:]] for runs in rounds]),
        start=starts.figure,
    )


def _more(costs: Sequence[float], frames: Sequence[int]) -> float:
    """Return what a frame of the longest costs over one of the shortest; the first is the start."""
    start, shortest, *_, longest = costs
    return a_frame(longest, start, frames[-1]) / a_frame(shortest, start, frames[0])


def _points(at: Sequence[int], rounds: Sequence[Sequence[float]]) -> list[Point]:
    return [
        Point(at=one, figures=list(figures))
        for one, figures in zip(at, zip(*rounds, strict=True), strict=True)
    ]


def _reports(bench: Bench, kind: str) -> Iterator[Found]:
    frames = [times * FRAMES for times in _TIMES]
    maps = [shots_map(bench, kind, frames=one) for one in frames]
    rounds = _reported(f"lengths, report, {kind} speeds", bench, maps)
    yield Row(
        name=f"`retime report` of {SHOTS:,} shots of {kind} speeds, {frames[-1]:,} frames over "
        f"{frames[0]:,}: times as long",
        figures=[costs[-1] / costs[0] for costs in rounds],
        unit="x",
        most=_REPORT,
    )
    yield Curve(
        name=f"`retime report` of {SHOTS:,} shots of {kind} speeds, six deliverables",
        across="film frames",
        unit="s",
        points=_points(frames, rounds),
    )


def shots(bench: Bench) -> Iterator[Found]:
    """Report on films of the same length with few shots and with many."""
    for kind in KINDS:
        maps = [shots_map(bench, kind, frames=FRAMES, shots=one) for one in _SHOTS]
        rounds = _reported(f"shots, {kind} speeds", bench, maps)
        yield Row(
            name=f"`retime report`, {FRAMES:,} frames, {_SHOTS[-1]:,} shots of {kind} speeds over "
            f"{_SHOTS[0]:,}: times as long",
            figures=[costs[-1] / costs[0] for costs in rounds],
            unit="x",
            told=True,
        )
        yield Curve(
            name=f"`retime report`, {FRAMES:,} frames, shots of {kind} speeds, six deliverables",
            across="shots",
            unit="s",
            points=_points(_SHOTS, rounds),
        )


def _reported(what: str, bench: Bench, maps: Sequence[Path]) -> list[list[float]]:
    """Return how many seconds the report of each map takes, a list a round."""
    commands = [retime("report", one) for one in maps]
    run(commands[0])  # so that Python has compiled what it needs
    sides = [lambda command=command: run(command) for command in commands]
    return [[one.seconds for one in runs] for runs in in_turn(what, bench.runs, *sides)]
