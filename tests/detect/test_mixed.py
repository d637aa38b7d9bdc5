"""Pictures mixed of two film frames, by the ffmpeg program's ``framerate`` and ``minterpolate``.

Check: output picture k stands at film position k times speed over rate, and is mixed of the two
film frames beside it, weights adding up to 1, in codes; whole film frames where k is a multiple of
the cycle (FFmpeg filters documentation; run and read with numbered frames, FFmpeg 5.1.9).
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from test_repeats import edits, joined
from transfers import CODERS, clip, ffmpeg, found, make, titled

from retime.signal.shown import Kind, Space

if TYPE_CHECKING:
    from pathlib import Path

    from retime.detect.detection import Detection

pytest_plugins = ["made_once"]

FRAMES = 170
FILTERS = {
    "framerate": "framerate={rate}",
    "minterpolate": "minterpolate=fps={rate}:mi_mode=blend",
}
IN_FULL = [
    ("framerate", 16, 24), ("framerate", 18, 24), ("framerate", 24, 25),
    ("minterpolate", 16, 25), ("minterpolate", 22, 24), ("minterpolate", 20, 30),
]  # fmt: skip
CODED = [
    ("framerate", 18, 24, "mpeg2"), ("framerate", 20, 24, "x264"), ("minterpolate", 16, 25, "x264"),
    ("framerate", 24, 25, "x264"), ("minterpolate", 22, 24, "coarse"),
]  # fmt: skip


def transfer(folder: Path, name: str, speed: int, rate: int, coder: str) -> Path:
    path = folder / f"{name}-{speed}-in-{rate}-{coder}.mkv"
    if not path.exists():
        chain = FILTERS[name].format(rate=rate)
        make(clip(folder, FRAMES), str(speed), chain, path, CODERS[coder])
    return path


def right(detection: Detection, positions: list[Fraction]) -> float:
    """Return for what part of the pictures the share of each film frame is told to 1/20."""
    told = np.full(len(positions), False)
    for one in detection.stretches:
        if one.mixing is None:
            continue
        for picture in range(one.first, min(one.last + 1, len(positions))):
            wanted = positions[picture] % 1
            off = abs(one.mixing.mixture.position(picture - one.first) % 1 - wanted)
            told[picture] = min(off, 1 - off) < Fraction(1, 20)
    return float(told.mean())


@pytest.mark.parametrize(("name", "speed", "rate"), IN_FULL)
def test_what_is_mixed_is_told_with_its_film_frames_and_weights(
    name: str, speed: int, rate: int, folder: Path
) -> None:
    detection = found(transfer(folder, name, speed, rate, "ffv1"))

    (one,) = detection.stretches
    assert Kind.MIXED is one.kind
    assert one.mixing is not None
    assert Fraction(speed, rate) == Fraction(one.mixing.film_frames, one.mixing.outputs)
    assert 0 == one.mixing.start
    assert Space.CODES is one.mixing.space


@pytest.mark.parametrize(("name", "speed", "rate", "coder"), CODED)
def test_what_is_mixed_is_told_after_lossy_coding(
    name: str, speed: int, rate: int, coder: str, folder: Path
) -> None:
    detection = found(transfer(folder, name, speed, rate, coder))

    positions = [Fraction(k * speed, rate) for k in range(detection.frames)]
    assert right(detection, positions) >= 0.98


@pytest.mark.parametrize(("name", "speed", "rate"), [("framerate", 18, 24)])
def test_edits_break_a_mixture_too(
    name: str, speed: int, rate: int, folder: Path, tmp_path: Path
) -> None:
    pieces = [(2, 60), (121, 190), (25, 80)]  # a cycle has four pictures
    path = joined(
        transfer(folder, name, speed, rate, "ffv1"), pieces, tmp_path / "edited.mkv", "ffv1"
    )
    detection = found(path)

    positions = [Fraction(k * speed, rate) for first, stop in pieces for k in range(first, stop)]
    assert right(detection, positions) >= 0.98
    assert [58, 127] == [one.first for one in detection.stretches][1:]


CODED_ANEW = [("framerate", 16, 24, 5, "coarse"), ("minterpolate", 20, 24, 16, "mpeg2")]


@pytest.mark.parametrize(("name", "speed", "rate", "seed", "coder"), CODED_ANEW)
def test_edits_break_a_mixture_that_is_coded_anew(  # noqa: PLR0913, PLR0917 - a case
    name: str, speed: int, rate: int, seed: int, coder: str, folder: Path, tmp_path: Path
) -> None:
    source = transfer(folder, name, speed, rate, "ffv1")
    pieces = edits(FRAMES * rate // speed, seed)
    detection = found(joined(source, pieces, tmp_path / "edited.mkv", coder))

    positions = [Fraction(k * speed, rate) for first, stop in pieces for k in range(first, stop)]
    assert right(detection, positions) >= 0.98
    begins = np.cumsum([0, *(stop - first for first, stop in pieces)])
    for first, stop in pairwise(begins.tolist()):
        middle = (first + stop) // 2
        one = next(each for each in detection.stretches if each.first <= middle <= each.last)
        assert one.mixing is not None
        assert Fraction(speed, rate) == Fraction(one.mixing.film_frames, one.mixing.outputs)


def test_titles_that_hardly_move_are_told_by_what_is_mixed_around_them(
    folder: Path, tmp_path: Path
) -> None:
    """The demo's first reel, 16 in 25, coded so that most of its grain is gone."""
    path = tmp_path / "coded.mkv"
    make(titled(folder), "16", "framerate=25", path, CODERS["coarse"])

    detection = found(path)

    assert right(detection, [Fraction(k * 16, 25) for k in range(detection.frames)]) >= 0.98


def test_what_coding_takes_from_dark_parts_is_not_taken_for_light(
    folder: Path, tmp_path: Path
) -> None:
    """The program mixes codes; MPEG-2 leaves less of them in light than in codes."""
    path = tmp_path / "coded.mkv"
    make(titled(folder), "22", "minterpolate=fps=24:mi_mode=blend", path, CODERS["mpeg2"])

    mixed = [one.mixing for one in found(path).stretches if one.mixing is not None]

    assert mixed
    assert not [one for one in mixed if Space.LIGHT is one.space]


def test_a_mixture_goes_on_through_a_still_if_its_phase_agrees(
    folder: Path, tmp_path: Path
) -> None:
    """18 in 24: a freeze of 60 pictures is fifteen cycles."""
    path = tmp_path / "frozen.mkv"
    source = transfer(folder, "framerate", 18, 24, "ffv1")
    ffmpeg("-i", source, "-vf", "loop=loop=60:size=1:start=80", *CODERS["ffv1"], path)

    (one,) = found(path).stretches

    assert Kind.MIXED is one.kind
    assert one.mixing is not None
    assert (3, 4) == (one.mixing.film_frames, one.mixing.outputs)


LIGHT = "format=gray16,lut=y='65535*pow(val/65535,{power})'"


def test_a_mixture_in_linear_light_is_told_from_one_in_codes(folder: Path) -> None:
    """The program makes light of codes by Rec. ITU-R BT.1886's power of 2.4, mixes it, and back."""
    path = folder / "light.mkv"
    there, back = LIGHT.format(power="2.4"), LIGHT.format(power="1/2.4")
    make(clip(folder, FRAMES), "18", f"{there},framerate=24,{back}", path, CODERS["ffv1"])

    detection = found(path)

    longest = max(detection.stretches, key=lambda one: one.count)
    assert longest.count > 0.9 * detection.frames
    assert longest.mixing is not None
    assert Fraction(3, 4) == Fraction(longest.mixing.film_frames, longest.mixing.outputs)
    assert Space.LIGHT is longest.mixing.space
