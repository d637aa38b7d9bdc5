"""How fast sound is resampled and stretched, and how much memory 90 minutes of it take."""

import json
import subprocess
from collections.abc import Iterator
from pathlib import Path

from benching.bench import Bench
from benching.programs import PYTHON, ffmpeg
from benching.rows import Row
from benching.timing import BenchError, run, tell

__all__ = ["recording", "sound"]

_LONG, _SHORT = 90, 5  # minutes
_BOUNDS = (("moves", "resampled", 300), ("kept", "stretched", 40))  # times real time
_MOST = 600  # MB
# Tones over hiss, different in both channels.
_SCORE = "0.1*sin(440*PI*t)+0.1*sin(554*PI*t)+0.04*random(0)|0.1*sin(660*PI*t)+0.04*random(1)"


def sound(bench: Bench) -> Iterator[Row]:
    """Bring stereo from 24 to 25 out of a file, each time in a process of its own."""
    short, long = (recording(bench.folder, 60 * minutes) for minutes in (_SHORT, _LONG))
    for pitch, done, least in _BOUNDS:
        yield Row(
            name=f"{_SHORT} minutes of stereo {done}, 24 to 25, on one core: times real time",
            figures=[_brought(short, pitch)["times"] for _ in range(bench.runs)],
            unit="x",
            least=least,
        )
        yield Row(
            name=f"peak memory, {_LONG} minutes of stereo {done}",
            figures=[_brought(long, pitch)["peak"]],
            unit="MB",
            most=_MOST,
        )


def recording(folder: Path, seconds: float) -> Path:
    """Make a recording of tones and hiss in stereo, as a WAV of 16 bits."""
    path = folder / f"score-{seconds:g}.wav"
    source = f"aevalsrc={_SCORE}:s=48000:d={seconds}"
    run(ffmpeg("-f", "lavfi", "-i", source, path))
    return path


def _brought(path: Path, pitch: str) -> dict[str, float]:
    command = [PYTHON, "-m", "benching.stretch", str(path), pitch]
    told = subprocess.run(command, capture_output=True, text=True, check=False)
    if told.returncode:
        raise BenchError(f"{' '.join(command)}\nfailed: {told.stderr.strip()}")
    figures: dict[str, float] = json.loads(told.stdout)
    tell(f"{path.name}, {pitch}: {figures['times']:.0f} x, {figures['peak']:.0f} MB")
    return figures
