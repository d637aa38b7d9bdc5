"""The cadence of a transfer found from its pictures, against decoding these to nothing."""

from collections.abc import Iterator
from pathlib import Path

from benching.bench import Bench
from benching.programs import encoder, ffmpeg, retime, retimed
from benching.rows import Row
from benching.timing import in_turn, run

__all__ = ["detect"]

_H264 = "h264-viewing"


def detect(bench: Bench) -> Iterator[Row]:
    """Look at a ProRes scan and at an H.264 transfer, 20 in 24, and at long and short ones."""
    scan = bench.scans.looped("prores-hq.mov", frames=bench.scale.long)
    short = bench.scans.looped("prores-hq.mov", frames=bench.scale.short)
    yield _ratio(bench, "a ProRes scan", scan.path)
    yield _ratio(bench, "an H.264 transfer", _transfer(bench))
    peaks = [run(retime("detect", one.path)).peak for one in (short, scan)]
    yield Row(
        name=f"peak memory of `retime detect`, {scan.frames:,} pictures over {short.frames:,}",
        figures=[peaks[1] / peaks[0]],
        unit="x",
        most=1.1,
    )


def _ratio(bench: Bench, kind: str, path: Path) -> Row:
    rounds = in_turn(
        f"detect, {kind}",
        bench.runs,
        lambda: run(retime("detect", path)),
        lambda: run(ffmpeg("-i", path, "-map", "0:v", "-f", "null", "-")),
    )
    return Row(
        name=f"`retime detect` on {kind}: time over ffmpeg's decoding it to nothing",
        figures=[ours.seconds / decoding.seconds for ours, decoding in rounds],
        unit="x",
        most=1.3,
    )


def _transfer(bench: Bench) -> Path:
    """Return a long H.264 file of a scan at 20 in 24."""
    drawn = bench.scans.drawn("prores-hq.mov")
    times = max(1, bench.scale.long // drawn.frames)
    path = bench.folder / f"{times}-detected.mp4"
    if not path.exists():
        once = path.with_name(f"once-{path.name}")
        run(ffmpeg("-i", drawn.path, "-vf", retimed(20, 24), *encoder(_H264), once))
        again = ("-stream_loop", str(times - 1), "-i", once, "-c", "copy")
        run(ffmpeg(*again, path))
    return path
