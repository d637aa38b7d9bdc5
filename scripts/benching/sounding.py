"""How fast sound is resampled and stretched, and how much memory 90 minutes of it take."""

import json
import subprocess
from collections.abc import Iterator

from benching.bench import Bench
from benching.programs import PYTHON
from benching.rows import Row
from benching.timing import BenchError, tell

__all__ = ["sound"]

_LONG, _SHORT = 90, 5  # minutes
_BOUNDS = (("moves", "resampled", 300), ("kept", "stretched", 40))  # times real time
_MOST = 600  # MB


def sound(bench: Bench) -> Iterator[Row]:
    """Bring stereo from 24 to 25, each time in a process of its own."""
    for pitch, done, least in _BOUNDS:
        short = [_brought(pitch, _SHORT)["times"] for _ in range(bench.runs)]
        yield Row(
            name=f"{_SHORT} minutes of stereo {done}, 24 to 25, on one core: times real time",
            figures=short,
            unit="x",
            least=least,
        )
        peak = _brought(pitch, _LONG)["peak"]
        yield Row(
            name=f"peak memory, {_LONG} minutes of stereo {done}",
            figures=[peak],
            unit="MB",
            most=_MOST,
        )


def _brought(pitch: str, minutes: int) -> dict[str, float]:
    command = [PYTHON, "-m", "benching.stretch", pitch, str(minutes)]
    told = subprocess.run(command, capture_output=True, text=True, check=False)
    if told.returncode:
        raise BenchError(f"{' '.join(command)}\nfailed: {told.stderr.strip()}")
    figures: dict[str, float] = json.loads(told.stdout)
    tell(f"sound, {pitch}, {minutes} minutes: {figures['times']:.0f} x, {figures['peak']:.0f} MB")
    return figures
