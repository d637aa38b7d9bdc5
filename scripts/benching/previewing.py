"""A page to compare speeds by, against ffmpeg's decoding and encoding of the same pictures."""

import shutil
from collections.abc import Iterator
from pathlib import Path

from benching.bench import SCALES, Bench
from benching.programs import ffmpeg, retime, retimed
from benching.rows import Row
from benching.scans import Scan
from benching.timing import Run, in_turn, run
from retime.film.notation import parse_rate
from retime.preview.clips import clip_options
from retime.preview.pictures import QUALITY

__all__ = ["preview"]

_DEMO = Path(__file__).parents[2] / "demo_media" / "tidewatcher.yaml"
_EXCERPTS = 5
_SPEEDS = (16, 18, 20, 22, 24)
_RATES = (24, 25, 30)
_WIDTH = 640


def preview(bench: Bench) -> Iterator[Row]:
    """Make pages of the demo and of a scan in FFV1, and of this scan once more."""
    yield Row(
        name="`retime preview` of the demo film",
        figures=[
            run(retime("preview", _DEMO, "-o", _emptied(bench))).seconds for _ in range(bench.runs)
        ],
        unit="s",
        most=20,
    )
    seconds = 8 if bench.scale is SCALES["full"] else 2
    frames = seconds * _SPEEDS[0]
    scan = bench.scans.looped("ffv1.mkv", frames=_EXCERPTS * frames)
    spans = ",".join(f"{n * frames}-{(n + 1) * frames - 1}" for n in range(_EXCERPTS))
    command = retime("preview", scan.path, "--frames", spans, "--seconds", str(seconds))
    rounds = in_turn(
        "preview",
        bench.runs,
        lambda: run([*command, "-o", _emptied(bench)]),
        lambda: _peer(bench, scan, _EXCERPTS * frames),
    )
    yield Row(
        name=f"`retime preview` of a scan in FFV1, {_EXCERPTS} excerpts of {seconds} s: time over "
        "ffmpeg's decoding, scaling and encoding of the same",
        figures=[ours.seconds / peer.seconds for ours, peer in rounds],
        unit="x",
        most=1.5,
    )
    made = [*command, "-o", _emptied(bench)]
    run(made)
    yield Row(
        name="the same once more, nothing changed",
        figures=[run(made).seconds for _ in range(bench.runs)],
        unit="s",
        most=2,
    )


def _emptied(bench: Bench) -> Path:
    """Return the path of a folder that is not there."""
    folder = bench.folder / "look"
    shutil.rmtree(folder, ignore_errors=True)
    return folder


def _peer(bench: Bench, scan: Scan, frames: int) -> Run:
    """Have ffmpeg write the same pictures, and as many output frames, in one pass."""
    folder = _emptied(bench)
    folder.mkdir()
    ways = [(speed, rate) for speed in _SPEEDS for rate in _RATES]
    names = [f"way{number}" for number in range(len(ways))]
    split = f"[0:v]trim=end_frame={frames},scale={_WIDTH}:-2,split={len(ways) + 1}[pictures]"
    graph = [split + "".join(f"[{name}]" for name in names)]
    outputs: list[str | Path] = ["-map", "[still]", "-q:v", str(QUALITY), folder / "%05d.jpg"]
    graph.append("[pictures]format=yuvj420p[still]")
    for name, (speed, rate) in zip(names, ways, strict=True):
        graph.append(f"[{name}]format=yuv420p,{retimed(speed, rate)}[{name}out]")
        outputs += ["-map", f"[{name}out]", "-c:v", "libx264", "-threads:v", "1"]
        for option, value in clip_options(parse_rate(str(rate))):
            outputs += [f"-{option}:v", value]
        outputs.append(folder / f"{name}.mp4")
    command = ffmpeg("-i", scan.path, "-filter_complex", ";".join(graph))
    return run([*command, *outputs])
