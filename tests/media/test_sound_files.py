"""Recordings are read as FFmpeg presents them, from anywhere, in little memory."""

from __future__ import annotations

import subprocess
import tracemalloc
from typing import TYPE_CHECKING

import imageio_ffmpeg
import numpy as np
import pytest
from msgspec.structs import replace
from sounds import RATE, decoded, write_wav

from retime.errors import ScanError
from retime.media.sound_facts import probe_sound
from retime.media.sound_reader import SoundReader

if TYPE_CHECKING:
    from pathlib import Path

KINDS = {
    "wav": ("pcm_s16le",),
    "w64": ("pcm_s24le",),
    "aiff": ("pcm_s24be",),
    "caf": ("pcm_s32le",),
    "flac": ("flac", "-sample_fmt", "s32"),
    "mov": ("pcm_s24be",),
    "mka": ("pcm_f32le",),
    "m4a": ("aac", "-b:a", "128k"),
    "mp3": ("libmp3lame", "-b:a", "128k"),
    "ogg": ("libvorbis",),
    "ac3": ("ac3", "-b:a", "192k"),
}


def _ffmpeg(*what: str) -> None:
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", "-y", *what]
    subprocess.run(command, capture_output=True, check=True)


@pytest.fixture(scope="module")
def noise(tmp_path_factory: pytest.TempPathFactory) -> Path:
    samples = np.random.default_rng(3).integers(-20000, 20000, (3 * RATE + 77, 2))
    return write_wav(tmp_path_factory.mktemp("noise") / "noise.wav", samples)


@pytest.mark.parametrize("ending", KINDS)
def test_a_recording_is_what_the_ffmpeg_program_decodes(
    noise: Path, tmp_path: Path, ending: str
) -> None:
    """The same samples, and as many: an encoder's delay is left out as the program leaves it out.

    What fills up the last block of AAC is left out by the program alone: it is silence.
    """
    path = tmp_path / f"noise.{ending}"
    _ffmpeg("-i", str(noise), "-c:a", *KINDS[ending], str(path))
    facts, wanted = probe_sound(path), decoded(path)
    found = SoundReader(facts).read(0, facts.samples)

    assert (RATE, 2) == (facts.rate, facts.channels)
    filled = facts.samples - len(wanted)
    assert 0 <= filled < 1024 if ending == "m4a" else filled == 0
    assert np.allclose(wanted, found[: len(wanted)], atol=1e-5)
    if KINDS[ending][0].startswith(("pcm", "flac")):
        assert 3 * RATE + 77 == facts.samples
        assert np.array_equal(wanted, found)


@pytest.mark.parametrize("codec", ["pcm_u8", "pcm_s32le", "pcm_f32le", "pcm_f64le"])
def test_every_sample_keeps_its_value(noise: Path, tmp_path: Path, codec: str) -> None:
    path = tmp_path / "noise.wav"
    _ffmpeg(
        "-i", str(noise), "-af", "volume=0.987654321:precision=double", "-c:a", codec, str(path)
    )
    facts = probe_sound(path)

    assert np.array_equal(decoded(path), SoundReader(facts).read(0, facts.samples))


def test_samples_are_found_wherever_they_are_asked_for(noise: Path) -> None:
    """Forward, overlapping, leaping, and back to the start; outside of the recording is silence."""
    facts, wanted = probe_sound(noise), decoded(noise)
    around = np.pad(wanted, ((RATE, RATE), (0, 0)))
    reader, dice = SoundReader(facts), np.random.default_rng(0)
    for first in dice.integers(-RATE, 3 * RATE, 60):
        count = int(dice.integers(0, RATE))
        begin = int(first) + RATE
        assert np.array_equal(around[begin : begin + count], reader.read(int(first), count))


def test_a_first_read_may_lie_far_into_a_recording(tmp_path: Path) -> None:
    """Twenty seconds in: what comes before is decoded, and let go of."""
    path = tmp_path / "long.wav"
    _ffmpeg("-f", "lavfi", "-i", f"sine=440:r={RATE}:d=30", "-ac", "2", str(path))
    wanted = decoded(path)[20 * RATE : 21 * RATE]

    assert np.array_equal(wanted, SoundReader(probe_sound(path)).read(20 * RATE, RATE))


def test_memory_does_not_grow_with_a_recording(tmp_path: Path) -> None:
    """Three minutes of stereo would take 138 MB of floats."""
    path = tmp_path / "long.wav"
    _ffmpeg("-f", "lavfi", "-i", f"sine=440:r={RATE}:d=180", "-ac", "2", str(path))
    facts = probe_sound(path)
    reader = SoundReader(facts)
    tracemalloc.start()
    for first in range(0, facts.samples, 30_000):
        reader.read(first - 1000, 31_000)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 20e6


def test_a_file_that_ends_before_its_counted_length_is_told(noise: Path) -> None:
    facts = probe_sound(noise)
    with pytest.raises(ScanError, match="before its end"):
        SoundReader(replace(facts, samples=facts.samples + 1)).read(0, facts.samples + 1)


def test_a_file_that_is_cut_since_it_was_counted_is_told(noise: Path, tmp_path: Path) -> None:
    path = tmp_path / "cut.wav"
    path.write_bytes(noise.read_bytes())
    facts = probe_sound(path)
    path.write_bytes(noise.read_bytes()[: noise.stat().st_size // 2])
    with pytest.raises(ScanError, match="was changed since it was looked at"):
        SoundReader(facts).read(0, facts.samples)


def test_what_is_no_recording_is_refused(tmp_path: Path, noise: Path) -> None:
    """Text, a picture's file, and a file of two tracks."""
    text, film, both = tmp_path / "a.wav", tmp_path / "b.mkv", tmp_path / "c.mka"
    text.write_text("no sound")
    _ffmpeg("-f", "lavfi", "-i", "color=size=64x64:duration=1", str(film))
    _ffmpeg("-i", str(noise), "-map", "0:a", "-map", "0:a", str(both))
    for path, words in ((text, "no sound"), (film, "holds no sound"), (both, "2 streams")):
        with pytest.raises(ScanError, match=words):
            probe_sound(path)
