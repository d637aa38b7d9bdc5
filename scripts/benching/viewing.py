"""The H.264 viewing copy against ffmpeg with the same settings."""

from collections.abc import Iterator

from benching.bench import Bench
from benching.maps import one_speed
from benching.programs import encoder, ffmpeg, retimed
from benching.rows import Row
from benching.timing import in_turn

__all__ = ["h264"]

_PROFILE = "h264-viewing"


def h264(bench: Bench) -> Iterator[Row]:
    """Make a viewing copy of a ProRes scan, 20 in 24."""
    scan = bench.scans.drawn("prores-hq.mov")
    speed_map = one_speed(scan.path.with_suffix(".h264.yaml"), scan, _PROFILE)
    target = bench.target("viewing.mp4")
    options = ("-vf", retimed(20, 24), *encoder(_PROFILE), "-movflags", "faststart")
    pairs = in_turn(
        "h264",
        bench.runs,
        lambda: bench.render(speed_map),
        lambda: bench.peer(ffmpeg("-i", scan.path, *options, target), [target]),
    )
    yield Row(
        name=f"H.264 viewing copy of a ProRes scan, {scan.frames} frames, 20 in 24: "
        "speed over ffmpeg's",
        figures=[peer.flushed / ours.flushed for ours, peer in pairs],
        unit="x",
        least=0.95,
    )
