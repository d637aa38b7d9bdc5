"""Whole processes that render nothing: the report of a long film, and the help."""

from collections.abc import Callable, Iterator
from pathlib import Path

from benching.bench import Bench
from benching.maps import many_shots
from benching.programs import PYTHON, ffmpeg, retime
from benching.rows import Row
from benching.timing import in_turn, run

__all__ = ["FRAMES", "KINDS", "SHOTS", "help_page", "page", "report", "shots_map"]

FRAMES, SHOTS = 130_000, 1_500

KINDS: dict[str, Callable[[int], str]] = {
    "whole": lambda number: str(12 + number * 7 % 17),
    "three-decimal": lambda number: f"{16 + number * 7 % 7900 / 1000:.3f}",
}


def report(bench: Bench) -> Iterator[Row]:
    """Report on 1,500 shots that have each their own speed, and on ten times the frames."""
    for kind in KINDS:
        yield from _speeds(bench, kind)


def page(bench: Bench) -> Iterator[Row]:
    """Write the page of a report on the same shots: how long the process takes, and how big."""
    for kind in KINDS:
        yield from _page(bench, kind)


def _page(bench: Bench, kind: str) -> Iterator[Row]:
    written = bench.folder / f"{kind}.html"
    asked = shots_map(bench, kind, frames=FRAMES), "--format", "html", "-o", written, "--force"
    command = retime("report", *asked)
    run(command)  # so that Python has compiled what it needs
    rounds = in_turn(f"page, {kind} speeds", bench.runs, lambda: run(command, lambda: [written]))
    name = f"the page of {FRAMES:,} frames, {SHOTS:,} shots of {kind} speeds"
    yield Row(
        name=f"`retime report --format html`: {name}, six deliverables",
        figures=[one.seconds for (one,) in rounds],
        unit="s",
        most=4,
    )
    yield Row(
        name=f"{name}: how big",
        figures=[one.written / 1e6 for (one,) in rounds],
        unit="MB",
        most=3,
    )


def shots_map(bench: Bench, kind: str, *, frames: int, shots: int = SHOTS) -> Path:
    """Write a map of one kind of speeds, over a scan that is a header and a frame."""
    scan = bench.folder / "header.mkv"
    run(ffmpeg("-f", "lavfi", "-i", "color=s=1920x1080", "-frames:v", "1", "-c:v", "ffv1", scan))
    beside = bench.folder / f"{kind}-{frames}-{shots}.yaml"
    return many_shots(beside, scan, frames=frames, shots=shots, speed=KINDS[kind])


def _speeds(bench: Bench, kind: str) -> Iterator[Row]:
    maps = [shots_map(bench, kind, frames=frames) for frames in (FRAMES, 10 * FRAMES)]
    once, ten_times = (retime("report", one) for one in maps)
    run(once)  # so that Python has compiled what it needs
    rounds = in_turn(
        f"report, {kind} speeds", bench.runs, lambda: run(once), lambda: run(ten_times)
    )
    yield Row(
        name=f"`retime report`, {FRAMES:,} frames, {SHOTS:,} shots of {kind} speeds, "
        "six deliverables",
        figures=[short.seconds for short, _ in rounds],
        unit="s",
        most=0.8,
    )
    yield Row(
        name="the same with ten times the frames: times as long",
        figures=[long.seconds / short.seconds for short, long in rounds],
        unit="x",
        most=1.2,
    )


def help_page(bench: Bench) -> Iterator[Row]:
    """Start, tell what commands there are, and end."""
    bare = (PYTHON, "-c", "")
    run(retime("--help"))
    rounds = in_turn("help", 3 * bench.runs, lambda: run(retime("--help")), lambda: run(bare))
    yield Row(
        name="`retime --help`: time over a bare Python start",
        figures=[ours.seconds - python.seconds for ours, python in rounds],
        unit="s",
        most=0.2,
    )
