"""Whole repeats in transfers that the ffmpeg program made with its filter ``fps``.

Check: FFmpeg filters documentation, fps: constant rate by repeating, rounding to the nearest. The
cycles are those of 16 to 24 film frames a second in 24, 25 and 30.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from transfers import CODERS, clip, ffmpeg, found, make, right, shown_by, titled

from retime.signal.shown import Kind

if TYPE_CHECKING:
    from pathlib import Path

    from retime.detect.detection import Detection

pytest_plugins = ["made_once"]

FRAMES = 170
IN_FULL = [
    ("16", 24), ("18", 24), ("20", 24), ("22", 24), ("16", 25), ("18", 25), ("22", 25), ("24", 25),
    ("16", 30), ("18", 30), ("24", 30), ("200/11", 24),
]  # fmt: skip
CODED = [
    ("16", 24, "x264"), ("20", 24, "x264"), ("20", 24, "mpeg2"), ("22", 24, "mpeg2"),
    ("18", 25, "x264"), ("24", 25, "mpeg2"), ("20", 30, "x264"),
]  # fmt: skip


def transfer(folder: Path, speed: str, rate: int, coder: str) -> Path:
    path = folder / f"{speed.replace('/', '-')}-in-{rate}-{coder}.mkv"
    if not path.exists():
        make(clip(folder, FRAMES), speed, f"fps={rate}", path, CODERS[coder])
    return path


def ratio(detection: Detection) -> Fraction:
    (one,) = detection.stretches
    return Fraction(len(one.runs), sum(one.runs))


@pytest.mark.parametrize(("speed", "rate"), IN_FULL)
def test_pattern_and_phase_are_told_exactly_where_nothing_is_lost(
    speed: str, rate: int, folder: Path
) -> None:
    detection = found(transfer(folder, speed, rate, "ffv1"))
    shown = shown_by(folder, FRAMES, speed, f"fps={rate}")

    assert [Kind.REPEATS] == [one.kind for one in detection.stretches]
    assert Fraction(speed) / rate == ratio(detection)
    assert right(detection, shown).all()
    assert len(set(shown.upper)) == detection.film_frames
    assert detection.stretches[0].confidence > 0.9


@pytest.mark.parametrize(("speed", "rate", "coder"), CODED)
def test_pattern_and_phase_are_told_where_repeats_are_only_alike(
    speed: str, rate: int, coder: str, folder: Path
) -> None:
    detection = found(transfer(folder, speed, rate, coder))
    shown = shown_by(folder, FRAMES, speed, f"fps={rate}")

    assert Fraction(speed) / rate == ratio(detection)
    assert right(detection, shown).mean() >= 0.98


def test_titles_and_shots_that_hardly_move_are_told_by_those_around_them(
    folder: Path, tmp_path: Path
) -> None:
    """The demo's first reel, 20 in 24, coded so that most of its grain is gone."""
    path = make(titled(folder), "20", "fps=24", tmp_path / "coded.mkv", CODERS["x264"])

    detection = found(path)

    assert right(detection, shown_by(folder, 316, "20", "fps=24")).mean() >= 0.98


EDITED = [("20", 24, 3), ("16", 25, 5), ("18", 24, 8)]


def edits(count: int, seed: int, least: int = 48) -> list[tuple[int, int]]:
    """Return pieces of two seconds or more in any order, each far from the one before it."""
    chance = np.random.default_rng(seed)
    pieces: list[tuple[int, int]] = []
    while len(pieces) < 5:
        length = int(chance.integers(least, 70))
        first = int(chance.integers(0, count - length))
        if not pieces or abs(first - pieces[-1][1]) > 20:
            pieces.append((first, first + length))
    return pieces


def joined(source: Path, pieces: list[tuple[int, int]], to: Path, coder: str) -> Path:
    """Have the program cut pieces out of a transfer and join them, coded anew."""
    parts = "".join(
        f"[s{number}]trim=start_frame={first}:end_frame={stop},setpts=PTS-STARTPTS[t{number}];"
        for number, (first, stop) in enumerate(pieces)
    )
    names = [f"[s{number}]" for number in range(len(pieces))]
    graph = f"[0:v]split={len(pieces)}{''.join(names)};{parts}"
    graph += "".join(name.replace("s", "t") for name in names) + f"concat=n={len(pieces)}[out]"
    ffmpeg("-i", source, "-filter_complex", graph, "-map", "[out]", *CODERS[coder], to)
    return to


@pytest.mark.parametrize("coder", ["ffv1", "x264"])
@pytest.mark.parametrize(("speed", "rate", "seed"), EDITED)
def test_a_cadence_that_edits_break_is_told_with_every_break(  # noqa: PLR0913, PLR0917 - a case
    speed: str, rate: int, seed: int, coder: str, folder: Path, tmp_path: Path
) -> None:
    whole = shown_by(folder, FRAMES, speed, f"fps={rate}")
    pieces = edits(len(whole.upper), seed)
    source = transfer(folder, speed, rate, "ffv1")
    detection = found(joined(source, pieces, tmp_path / "edited.mkv", coder))

    agree = right(detection, whole.of(pieces))
    assert agree.mean() >= (1 if coder == "ffv1" else 0.98)
    begins = np.cumsum([0, *(stop - first for first, stop in pieces)])
    for number, (first, stop) in enumerate(pairwise(begins.tolist())):
        middle = (first + stop) // 2
        one = next(each for each in detection.stretches if each.first <= middle <= each.last)
        assert Fraction(speed) / rate == Fraction(len(one.runs), sum(one.runs)), number
    if coder == "ffv1":
        # An edit breaks a cadence if it moves its phase, or cuts into what should be a repeat.
        cycle = (Fraction(speed) / rate).denominator
        wanted = [
            int(at)
            for at, (_, stop), (first, _) in zip(begins[1:-1], pieces, pieces[1:], strict=False)
            if (first - stop) % cycle or whole.upper[first] == whole.upper[first - 1]
        ]
        assert wanted == [one.first for one in detection.stretches][1:]
