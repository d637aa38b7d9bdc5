"""ProRes deliverables encoded once, and shared, against ffmpeg encoding each."""

from collections.abc import Iterator
from itertools import product

from benching.bench import Bench
from benching.maps import RATES, SPEEDS, dual_speed, one_speed
from benching.programs import encoder, ffmpeg, retimed, split
from benching.rows import Row
from benching.timing import in_turn

__all__ = ["six"]

_PROFILE = "prores-mezzanine"
_MEMORY = 400  # MB


def six(bench: Bench) -> Iterator[Row]:
    """Make six deliverables of a dual-speed map in one call, and one alone."""
    yield from _scan(bench, "FFV1", "ffv1.mkv", least=4)
    yield from _scan(bench, "ProRes 422", "prores-422.mov", least=5)


def _scan(bench: Bench, codec: str, name: str, least: float) -> Iterator[Row]:
    scan = bench.scans.drawn(name)
    all_six = dual_speed(scan.path.with_suffix(".six.yaml"), scan, _PROFILE)
    alone = one_speed(scan.path.with_suffix(".one.yaml"), scan, _PROFILE)
    options = encoder(_PROFILE)
    plain, single = bench.target("plain.mov"), bench.target("single.mov")
    made = {
        bench.target(f"{version}-{rate}.mov"): (SPEEDS[version], rate)
        for version, rate in product(SPEEDS, RATES)
    }

    rounds = in_turn(
        f"six, {codec} scan",
        bench.runs,
        lambda: bench.render(all_six),
        lambda: bench.peer(ffmpeg("-i", scan.path, *options, plain), [plain]),
        lambda: bench.peer(split(scan.path, made, options), list(made)),
    )
    yield Row(
        name=f"six ProRes HQ files of a {codec} scan, {scan.frames} frames: "
        "time over that of one plain 1:1 ffmpeg transcode",
        figures=[ours.flushed / one.flushed for ours, one, _ in rounds],
        unit="x",
        most=1.2,
    )
    yield Row(
        name="the same: times faster than one ffmpeg command that splits into the six",
        figures=[parted.flushed / ours.flushed for ours, _, parted in rounds],
        unit="x",
        least=least,
    )
    yield Row(
        name="the same: our peak memory",
        figures=[ours.peak / 1e6 for ours, _, _ in rounds],
        unit="MB",
        most=_MEMORY,
    )
    pairs = in_turn(
        f"six, one of them, {codec} scan",
        bench.runs,
        lambda: bench.render(alone),
        lambda: bench.peer(
            ffmpeg("-i", scan.path, "-vf", retimed(20, 24), *options, single), [single]
        ),
    )
    yield Row(
        name=f"one ProRes HQ file of a {codec} scan, 20 in 24: times faster than ffmpeg",
        figures=[peer.flushed / ours.flushed for ours, peer in pairs],
        unit="x",
        least=1,
    )
