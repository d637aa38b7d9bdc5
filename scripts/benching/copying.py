"""The copy route against ``ffmpeg -c copy``, and against the same job encoded anew."""

from collections.abc import Iterator

from benching.bench import Bench
from benching.maps import one_speed
from benching.programs import encoder, ffmpeg, retimed
from benching.rows import Row
from benching.scans import Scan
from benching.timing import BenchError, Run, in_turn, settled

__all__ = ["copy"]

_REPEATED = (6, 5)  # 20 in 24: six output frames for five film frames


def copy(bench: Bench) -> Iterator[Row]:
    """Copy scans, 20 in 24, with the pictures as scanned."""
    yield from _codec(bench, "ProRes", "prores-hq.mov", "prores-mezzanine", least=50)
    yield from _codec(bench, "FFV1", "ffv1.mkv", "ffv1-master", least=20)


def _codec(bench: Bench, codec: str, name: str, profile: str, least: float) -> Iterator[Row]:
    scan = bench.scans.looped(name, size=bench.scale.copied)
    piece = bench.scans.drawn(name)
    speed_map = one_speed(scan.path.with_suffix(".yaml"), scan, "as-scanned")
    plain = bench.target(f"plain{scan.path.suffix}")
    anew = bench.target(f"anew{scan.path.suffix}")
    options = ("-vf", retimed(20, 24), *encoder(profile))
    plainly = ffmpeg("-i", scan.path, "-map", "0:v", "-c", "copy", plain)

    rounds = in_turn(
        f"copy, {codec}",
        bench.runs,
        lambda: bench.peer(ffmpeg("-i", piece.path, *options, anew), [anew]),
        lambda: settled(lambda: bench.render(speed_map)),
        lambda: settled(lambda: bench.peer(plainly, [plain])),
    )
    for _, ours, _ in rounds:
        _check_copied(scan, ours)

    written = rounds[0][1].written
    size = f"{written / 1e9:.1f} GB written"
    yield Row(
        name=f"{codec} copied 20 in 24, {size}: time a byte over that of `ffmpeg -c copy`",
        figures=[_per_byte(a, a.flushed) / _per_byte(b, b.flushed) for _, a, b in rounds],
        unit="x",
        most=1.3,
    )
    yield Row(
        name="the same, ffmpeg's file not flushed to disk and ours flushed",
        figures=[_per_byte(a, a.flushed) / _per_byte(b, b.seconds) for _, a, b in rounds],
        unit="x",
    )
    yield Row(
        name="the same, our rate of writing",
        figures=[a.written / a.flushed / 1e6 for _, a, _ in rounds],
        unit="MB/s",
    )
    up, down = _REPEATED
    anew_frames, our_frames = piece.frames * up / down, scan.frames * up / down
    yield Row(
        name=f"{codec} copied 20 in 24: times faster than ffmpeg encoding it anew "
        f"({piece.frames} film frames encoded, scaled by frames)",
        figures=[(c.flushed / anew_frames) / (a.flushed / our_frames) for c, a, _ in rounds],
        unit="x",
        least=least,
    )


def _per_byte(one: Run, seconds: float) -> float:
    return seconds / one.written


def _check_copied(scan: Scan, ours: Run) -> None:
    up, down = _REPEATED
    if not 0.99 < ours.written / (scan.bytes * up / down) < 1.01:  # noqa: PLR2004 - container's own
        raise BenchError(f"{scan.path.name}: {ours.written} bytes are no copy, 20 in 24")
