"""The speed maps that are measured with."""

from collections.abc import Callable, Iterable
from itertools import pairwise, product
from pathlib import Path

from benching.scans import Scan

__all__ = ["RATES", "SPEEDS", "dual_speed", "from_first", "many_shots", "one_speed"]

SPEEDS = {"slow": 20, "fast": 24}
RATES = (24, 25, 30)


def one_speed(path: Path, scan: Scan, profile: str, sound: str = "") -> Path:
    """Write a map of one deliverable, 20 in 24; ``sound`` is its sound, as YAML."""
    owed = _owed(["slow"], [24], profile)
    if sound:
        owed[-1] = f"{owed[-1].removesuffix('}')}, sound: {sound}}}"
    return _write(path, _head(scan), owed)


def dual_speed(path: Path, scan: Scan, profile: str) -> Path:
    """Write a map of six deliverables: both speeds in each of the rates."""
    return _write(path, _head(scan), _owed(SPEEDS, RATES, profile))


def from_first(scan: Scan, frames: int, speed: str, owed: str, name: str) -> Path:
    """Write a map of one deliverable of a scan's first frames; ``name`` goes into the map's own."""
    if "blend" in owed:
        owed += ", cuts: unknown"
    last = f"frames: {scan.frames}, last: {frames - 1}"
    return _write(
        scan.path.with_name(f"{scan.path.stem}-{name}.yaml"),
        ["format: retime-map/1", "film: Bench", "gauge: 35mm", "transfer: bt1886"],
        [f"reels: [{{reel: 1, scan: {scan.path.name}, {last}}}]"],
        [f"versions: {{v: {{speed: {speed} fps}}}}"],
        [f"deliverables: {{a: {{version: v, {owed}}}}}"],
    )


def many_shots(
    path: Path, scan: Path, *, frames: int, shots: int, speed: Callable[[int], str]
) -> Path:
    """Write a map of one reel whose shots have each their own speed, and six deliverables.

    ``speed`` gives that of a shot by its number, counted on through both versions. The shots are
    of uneven length and stand in a list beside the map.
    """
    bounds = [frames * n // shots + (n * 37 % 23 if 0 < n < shots else 0) for n in range(shots + 1)]
    lines = ["reel,first,last,shot"]
    lines += [f"1,{a},{b - 1},{number}" for number, (a, b) in enumerate(pairwise(bounds), 1)]
    beside = path.with_suffix(".csv")
    beside.write_text("\n".join(lines) + "\n", encoding="utf-8")
    head = [
        "format: retime-map/1",
        "film: Bench",
        "gauge: 35mm",
        f"reels: [{{reel: 1, scan: {scan.name}, frames: {frames}}}]",
        f"shots: {beside.name}",
        "versions:",
    ]
    for version, name in enumerate(SPEEDS):
        head += [f"  {name}:", f"    speed: {SPEEDS[name]} fps", "    shots:"]
        for number in range(shots):
            head.append(f"      1/{number + 1}: {speed(version * shots + number)} fps")
    return _write(path, head, _owed(SPEEDS, RATES, "prores-mezzanine"))


def _head(scan: Scan) -> list[str]:
    return [
        "format: retime-map/1",
        "film: Bench",
        "gauge: 35mm",
        f"reels: [{{reel: 1, scan: {scan.path.name}, frames: {scan.frames}}}]",
        "versions:",
        *(f"  {name}: {{speed: {speed} fps}}" for name, speed in SPEEDS.items()),
    ]


def _owed(versions: Iterable[str], rates: Iterable[int], profile: str) -> list[str]:
    return [
        "deliverables:",
        *(
            f"  {name}-{rate}: {{version: {name}, profile: {profile}, rate: {rate}}}"
            for name, rate in product(versions, rates)
        ),
    ]


def _write(path: Path, *parts: list[str]) -> Path:
    path.write_text("\n".join(line for part in parts for line in part) + "\n", encoding="utf-8")
    return path
