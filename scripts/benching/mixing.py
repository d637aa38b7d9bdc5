"""How long the mean of two planes takes, in linear light."""

import json
import subprocess
from collections.abc import Iterator

from benching.bench import Bench
from benching.programs import PYTHON
from benching.rows import Row
from benching.timing import BenchError

__all__ = ["mix"]


def mix(bench: Bench) -> Iterator[Row]:
    """Mix planes in a process of its own, whose time on its one core is taken."""
    command = [PYTHON, "-m", "benching.kernel", str(bench.runs)]
    told = subprocess.run(command, capture_output=True, text=True, check=False)
    if told.returncode:
        raise BenchError(f"{' '.join(command)}\nfailed: {told.stderr.strip()}")
    yield Row(
        name="two 1920x1080 planes of 10-bit noise mixed in linear light, on one core",
        figures=json.loads(told.stdout),
        unit="ms",
        most=8,
    )
