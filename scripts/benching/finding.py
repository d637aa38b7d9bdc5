"""A first map found in scans, against decoding these to nothing."""

from collections.abc import Iterator
from pathlib import Path

from benching.bench import Bench
from benching.programs import encoder, ffmpeg, retime
from benching.rows import Row
from benching.timing import in_turn, run

__all__ = ["new"]

_H264 = "h264-viewing"


def new(bench: Bench) -> Iterator[Row]:
    """Look for shots in a ProRes scan, an FFV1 scan, and a scan in H.264."""
    for kind, name in (("a ProRes scan", "prores-hq.mov"), ("an FFV1 scan", "ffv1.mkv")):
        yield _speed(bench, kind, bench.scans.looped(name, frames=bench.scale.long).path)
    drawn = bench.scans.drawn("prores-hq.mov").path
    coded = drawn.with_name("found.mp4")
    run(ffmpeg("-i", drawn, *encoder(_H264), coded))
    again = ("-stream_loop", str(max(1, bench.scale.long // bench.scale.drawn) - 1))
    long = drawn.with_name("found-long.mp4")
    run(ffmpeg(*again, "-i", coded, "-c", "copy", long))
    yield _speed(bench, "a scan in H.264", long)


def _speed(bench: Bench, kind: str, path: Path) -> Row:
    asked = ("-o", bench.folder / "found", "--gauge", "35mm", "--film", "bench", "--force")
    rounds = in_turn(
        f"new, {kind}",
        bench.runs,
        lambda: run(retime("new", path, *asked)),
        lambda: run(ffmpeg("-i", path, "-map", "0:v", "-f", "null", "-")),
    )
    return Row(
        name=f"speed of `retime new` on {kind} over ffmpeg's decoding it to nothing",
        figures=[decoding.seconds / ours.seconds for ours, decoding in rounds],
        unit="x",
        least=0.6,
    )
