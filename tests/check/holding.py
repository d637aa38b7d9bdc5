"""Small films rendered to be held against their map, and sounds that can be told apart.

``spoil`` has the ffmpeg program write a file again with something changed: no line of the
renderer's is in it.
"""

from __future__ import annotations

import io
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from typing import TYPE_CHECKING

import imageio_ffmpeg
import numpy as np
from sounds import RATE

from retime.cli.main import run
from retime.edition.join import join
from retime.render.names import final_path

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from numpy.typing import NDArray

    from retime.edition.edition import Edition, Making

__all__ = ["Held", "notes", "program", "rendered", "speech", "spoil"]


class Held:
    """A map's edition, and the files that were made of it, by deliverable."""

    def __init__(self, speed_map: Path, output: Path) -> None:
        """Join the map; nothing is rendered."""
        self.edition: Edition = join(speed_map, scans_needed=True)
        self.makings: Mapping[str, Making] = {one.name: one for one in self.edition.makings}
        self.paths = {
            name: final_path(self.edition, making, output) for name, making in self.makings.items()
        }


def rendered(speed_map: Path, output: Path) -> Held:
    """Render all of a map's deliverables, as a user would."""
    output.mkdir()
    messages, before, code = io.StringIO(), sys.argv, None
    sys.argv = ["retime", "render", str(speed_map), "-o", str(output)]
    try:
        with redirect_stdout(io.StringIO()), redirect_stderr(messages):
            run()
    except SystemExit as ended:
        code = ended.code
    finally:
        sys.argv = before
    assert not code, messages.getvalue()
    return Held(speed_map, output)


def program(*arguments: object) -> bytes:
    """Run the ffmpeg program, which must succeed, and return what it writes."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-y", "-v", "error"]
    done = subprocess.run([*command, *map(str, arguments)], capture_output=True, check=False)
    assert not done.returncode, done.stderr.decode()
    return done.stdout


def spoil(path: Path, folder: Path, *changes: object, inputs: tuple[object, ...] = ()) -> Path:
    """Write a file again, copied but for the changes, options of the output; return its path.

    ``inputs`` are what is given beside the file itself.
    """
    spoilt = folder / path.name
    copied = ["-map", "0:v?", "-map", "0:a?", "-map", "0:s?", "-c", "copy"]
    program("-i", path, *inputs, *copied, *changes, spoilt)
    return spoilt


def speech(seconds: int, seed: int) -> NDArray[np.float64]:
    """Return one channel of noise that swells and falls as syllables do, with pauses."""
    chance = np.random.default_rng(seed)
    step = RATE // 100
    swell = np.convolve(chance.uniform(0, 1, seconds * 100 + 4) ** 4, np.ones(5) / 5, "valid")
    swell *= np.repeat(chance.uniform(0, 1, seconds) > 0.1, 100)
    return chance.normal(0, 0.15, seconds * RATE) * np.repeat(swell, step)


def notes(seconds: int, seed: int) -> NDArray[np.float64]:
    """Return one channel of struck strings, some three a second, each of six partials."""
    chance = np.random.default_rng(seed)
    sound = np.zeros((seconds + 2) * RATE)
    times = np.arange(3 * RATE // 2) / RATE
    for begin in np.sort(chance.integers(0, seconds * RATE, 3 * seconds)):
        pitch = 110 * 2 ** (chance.integers(0, 30) / 12)
        for partial in range(1, 7):
            wave = np.sin(2 * np.pi * pitch * partial * times + chance.uniform(0, 6))
            fall = np.exp(-times * (2 + partial)) * np.minimum(1, times / 0.004)
            sound[begin : begin + len(times)] += 0.15 / partial * wave * fall
    return sound[: seconds * RATE]
