"""A recording that is written to while it is read stops the render, as a scan does."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import numpy as np
import pytest
from sounds import RATE, Tone, write_wav

from retime.errors import ScanError
from retime.media.sound_facts import probe_sound
from retime.media.sound_reader import SoundReader

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

SECONDS = 20
CHANGED = "s.wav: was changed since it was looked at; let whatever writes it come to its end"


def grow(path: Path) -> None:
    with path.open("ab") as file:
        file.write(bytes(1000))


def touch(path: Path) -> None:
    os.utime(path, ns=(5, 5))


@pytest.mark.parametrize("change", [grow, touch])
@pytest.mark.parametrize("after", [0, RATE])
def test_a_recording_that_is_written_to_is_read_no_further(
    after: int, change: Callable[[Path], None], tmp_path: Path
) -> None:
    samples = np.repeat(Tone(440).read(0, SECONDS * RATE) * 32767, 2, axis=1)
    write_wav(tmp_path / "s.wav", np.rint(samples).astype(np.int64))
    reader = SoundReader(probe_sound(tmp_path / "s.wav"))
    if after:
        assert np.any(reader.read(0, after))
    change(tmp_path / "s.wav")

    with pytest.raises(ScanError, match=CHANGED):
        reader.read((SECONDS - 1) * RATE, RATE)
    reader.close()
