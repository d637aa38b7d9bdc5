"""Fields woven of two film frames, by the ffmpeg program's filter ``telecine``.

Check: FFmpeg filters documentation, telecine: a pattern's digits are the fields that each film
frame is shown for; to 30 interlaced 23, 2332, 33, 334, 3444 and 32222, to 25 interlaced
222222222223, 33333334 and 12222.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from test_repeats import joined
from transfers import FIELD_CODERS, clip, found, make, right, shown_by, titled

from retime.report.detected_words import overall_said
from retime.signal.shown import Kind

if TYPE_CHECKING:
    from pathlib import Path

pytest_plugins = ["made_once"]

FRAMES = 170
PATTERNS = {
    "23": "24", "2332": "24", "33": "20", "334": "18", "3444": "16", "32222": "55/2",
    "222222222223": "24", "33333334": "16", "12222": "250/9",
}  # fmt: skip
FIRST = {"top": "tff", "bottom": "bff"}


def chain(pattern: str, first: str) -> str:
    return f"telecine=pattern={pattern}:first_field={first},setfield={FIRST[first]}"


def transfer(folder: Path, pattern: str, first: str, coder: str) -> Path:
    path = folder / f"{pattern}-{first}-{coder}.mkv"
    if not path.exists():
        source, filters = clip(folder, FRAMES), chain(pattern, first)
        make(source, PATTERNS[pattern], filters, path, FIELD_CODERS[coder])
    return path


def cycle(pattern: str) -> set[tuple[int, ...]]:
    """Return a pattern's runs from each of them on; 33 is 3 over and over."""
    runs = (3,) if pattern == "33" else tuple(map(int, pattern))
    return {runs[at:] + runs[:at] for at in range(len(runs))}


@pytest.mark.parametrize(
    ("pattern", "first"),
    [*zip(PATTERNS, 5 * list(FIRST), strict=False), ("23", "bottom"), ("12222", "bottom")],
)
def test_runs_of_fields_and_their_order_are_told_exactly(
    pattern: str, first: str, folder: Path
) -> None:
    detection = found(transfer(folder, pattern, first, "ffv1"))

    (one,) = detection.stretches
    assert Kind.FIELDS is one.kind
    assert one.runs in cycle(pattern)
    assert (first == "top") is one.top_first
    assert right(
        detection, shown_by(folder, FRAMES, PATTERNS[pattern], chain(pattern, first))
    ).all()


@pytest.mark.parametrize(
    ("pattern", "coder"),
    [
        *(("23", coder) for coder in ("x264", "mpeg2")),
        ("33", "x264"),
        ("3444", "mpeg2"),
        ("222222222223", "x264"),
        ("12222", "mpeg2"),
    ],
)
def test_runs_of_fields_are_told_where_repeats_are_only_alike(
    pattern: str, coder: str, folder: Path
) -> None:
    detection = found(transfer(folder, pattern, "top", coder))
    shown = shown_by(folder, FRAMES, PATTERNS[pattern], chain(pattern, "top"))

    assert right(detection, shown).mean() >= 0.98
    assert {True} == {one.top_first for one in detection.stretches}
    assert all(one.runs in cycle(pattern) for one in detection.stretches)


@pytest.mark.parametrize(("pattern", "coder"), [("23", "ffv1"), ("23", "mpeg2"), ("334", "ffv1")])
def test_edits_in_the_middle_of_a_run_are_found(
    pattern: str, coder: str, folder: Path, tmp_path: Path
) -> None:
    pieces = [(3, 60), (112, 171), (20, 72)]  # a cycle has five pictures
    source = transfer(folder, pattern, "top", "ffv1")
    path = tmp_path / "edited.mkv"
    joined(source, pieces, path, coder)
    whole = shown_by(folder, FRAMES, PATTERNS[pattern], chain(pattern, "top"))

    detection = found(path)

    assert right(detection, whole.of(pieces)).mean() >= (1 if coder == "ffv1" else 0.98)
    assert [57, 116] == [one.first for one in detection.stretches][1:]


def test_fields_of_titles_that_hardly_move_are_told_by_those_around_them(
    folder: Path, tmp_path: Path
) -> None:
    """The demo's first reel, 16 in 50 fields, coded so that most of its grain is gone."""
    pattern = chain("33333334", "top")
    path = make(titled(folder), "16", pattern, tmp_path / "coded.mkv", FIELD_CODERS["x264"])

    detection = found(path)

    assert right(detection, shown_by(folder, 316, "16", pattern)).mean() >= 0.98


def test_an_edit_that_keeps_the_phase_is_found_where_a_repeat_is_due(
    folder: Path, tmp_path: Path
) -> None:
    """The pieces are whole cycles apart, and the second begins in the middle of a run."""
    pieces = [(2, 62), (112, 172)]
    whole = shown_by(folder, FRAMES, "18", chain("334", "top"))
    assert whole.lower[112] == whole.lower[111]
    path = joined(transfer(folder, "334", "top", "ffv1"), pieces, tmp_path / "kept.mkv", "mpeg2")

    detection = found(path)

    assert [60] == [one.first for one in detection.stretches][1:]
    assert right(detection, whole.of(pieces)).mean() >= 0.98


@pytest.mark.parametrize("first", FIRST)
def test_fields_of_sixty_moments_a_second_are_video_and_nothing_is_taken_out(
    first: str, folder: Path
) -> None:
    """FFmpeg's interlace makes of two pictures one, of alternate lines."""
    path = folder / f"video-{first}.mkv"
    weave = f"interlace=scan={FIRST[first]}:lowpass=off,setfield={FIRST[first]}"
    make(clip(folder, FRAMES), "60", weave, path, FIELD_CODERS["ffv1"])

    detection = found(path)

    assert "every field differs: nothing to take out" == overall_said(detection)
    assert {first == "top"} == {one.top_first for one in detection.stretches}


def test_pictures_whose_fields_are_of_one_moment_are_no_fields(folder: Path) -> None:
    """20 film frames in 25, carried whole in interlaced pictures, are repeats of pictures."""
    path = folder / "whole-in-fields.mkv"
    make(clip(folder, FRAMES), "20", "fps=25,setfield=tff", path, FIELD_CODERS["mpeg2"])

    (one,) = found(path).stretches

    assert Kind.REPEATS is one.kind
    assert Fraction(4, 5) == Fraction(len(one.runs), sum(one.runs))
