"""Peak memory of each route, for a short and a long scan."""

from collections.abc import Iterator

from benching.bench import Bench
from benching.maps import one_speed
from benching.rows import Row
from benching.timing import tell

__all__ = ["memory"]

_ROUTES = (
    # route, scan, profile, most MB: a long-GOP encoder may hold 450 MB besides
    ("copy", "prores-hq.mov", "as-scanned", 400),
    ("encode-once", "prores-422.mov", "prores-mezzanine", 400),
    ("stream, one H.264 encoder", "prores-hq.mov", "h264-viewing", 850),
)
_SAME = 1.1  # a tenth is left for what the system does


def memory(bench: Bench) -> Iterator[Row]:
    """Render scans of two lengths by every route, once each."""
    for route, name, profile, most in _ROUTES:
        peaks = []
        for frames in (bench.scale.short, bench.scale.long):
            scan = bench.scans.looped(name, frames=frames)
            speed_map = one_speed(scan.path.with_suffix(f".{profile}.yaml"), scan, profile)
            peaks.append(bench.render(speed_map).peak)
            tell(f"memory, {route}, {scan.frames} frames: {peaks[-1] / 1e6:.0f} MB")
            yield Row(
                name=f"peak memory, {route}, {scan.frames:,} frames of 1920x1080",
                figures=[peaks[-1] / 1e6],
                unit="MB",
                most=most,
            )
        yield Row(
            name="the same: the long scan's over the short one's",
            figures=[peaks[1] / peaks[0]],
            unit="x",
            most=_SAME,
        )
