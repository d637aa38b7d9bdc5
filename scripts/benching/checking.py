"""What was made held against the plan, against decoding it and its scan to nothing."""

from collections.abc import Iterator
from pathlib import Path
from statistics import median_low

from benching.bench import Bench
from benching.maps import one_speed
from benching.programs import ffmpeg, retime
from benching.rows import Row
from benching.scans import Scan
from benching.timing import in_turn, run

__all__ = ["check"]

_LOOKS = 3  # one alone was 1.18 times another, where all others were alike within a twentieth
_KINDS = {"prores-hq.mov": "prores-mezzanine", "ffv1.mkv": "ffv1-master"}


def check(bench: Bench) -> Iterator[Row]:
    """Check a ProRes and an FFV1 deliverable, 20 in 24, and a ProRes one of few pictures."""
    for scan_name, profile in _KINDS.items():
        scan = bench.scans.looped(scan_name, frames=bench.scale.long // 5)
        yield _ratio(bench, scan, profile)
    peaks = []
    for frames in (bench.scale.short, bench.scale.long):
        scan = bench.scans.looped("prores-hq.mov", frames=frames)
        speed_map, folder = _made(bench, scan, "prores-mezzanine")
        checking = retime("check", speed_map, "-o", folder)
        peaks.append(median_low(run(checking).peak for _ in range(_LOOKS)))
    yield Row(
        name=f"peak memory of `retime check`, {bench.scale.long:,} film frames over "
        f"{bench.scale.short:,}",
        figures=[peaks[1] / peaks[0]],
        unit="x",
        most=1.1,
    )


def _made(bench: Bench, scan: Scan, profile: str) -> tuple[Path, Path]:
    """Return a map and the folder that its deliverable was made in, alone."""
    folder = bench.emptied()
    speed_map = one_speed(scan.path.with_suffix(".checked.yaml"), scan, profile)
    run(retime("render", speed_map, "-o", folder))
    return speed_map, folder


def _ratio(bench: Bench, scan: Scan, profile: str) -> Row:
    speed_map, folder = _made(bench, scan, profile)
    (made,) = folder.iterdir()
    rounds = in_turn(
        f"check, {profile}",
        bench.runs,
        lambda: run(retime("check", speed_map, "-o", folder)),
        lambda: run(ffmpeg("-i", made, "-map", "0:v", "-f", "null", "-")),
        lambda: run(ffmpeg("-i", scan.path, "-map", "0:v", "-f", "null", "-")),
    )
    bench.emptied()
    return Row(
        name=f"`retime check` of a {profile} deliverable, {scan.frames:,} film frames: time over "
        "ffmpeg's decoding it and the scan to nothing",
        figures=[ours.seconds / (one.seconds + other.seconds) for ours, one, other in rounds],
        unit="x",
        most=1.3,
    )
