"""What has no cadence to be taken out: clean scans, stills, stretch printing, what is left out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from transfers import (
    CODERS,
    Shown,
    clip,
    ffmpeg,
    found,
    make,
    ordered,
    right,
    shown_by,
    speeded,
    titled,
)

from retime.report.detected_words import overall_said
from retime.signal.shown import Kind

if TYPE_CHECKING:
    from numpy.typing import NDArray

pytest_plugins = ["made_once"]

FRAMES = 170
SIZE = 256, 192
DEMO = Path(__file__).parents[2] / "demo_media"
NOTHING = "every picture differs: nothing to take out"
CUT_TO_SIZE = "scale=320:240:flags=area,format=yuv420p"


@pytest.mark.parametrize("reel", [1, 2])
def test_a_clean_scan_has_nothing_to_take_out(reel: int, tmp_path: Path) -> None:
    """The demo's scans: one film frame, one picture, leaders and titles as well."""
    path = tmp_path / "scan.mkv"
    source = DEMO / f"tidewatcher-reel-{reel}.mkv"
    ffmpeg("-i", source, "-vf", CUT_TO_SIZE, *CODERS["ffv1"], path)

    detection = found(path)

    assert NOTHING == overall_said(detection)
    assert () == detection.on_film


@pytest.mark.parametrize("coder", CODERS)
def test_twenty_four_in_twenty_four_has_nothing_to_take_out(coder: str, folder: Path) -> None:
    path = make(clip(folder, FRAMES), "24", "null", folder / f"24-{coder}.mkv", CODERS[coder])

    detection = found(path)

    assert NOTHING == overall_said(detection)
    assert detection.frames == detection.film_frames


def pictures(path: Path, size: tuple[int, int]) -> NDArray[np.float64]:
    raw = ffmpeg("-i", path, "-pix_fmt", "gray", "-f", "rawvideo", "pipe:1")
    return np.frombuffer(raw, np.uint8).reshape(-1, size[1], size[0]).astype(np.float64)


def written(printed: list[NDArray[np.float64]], to: Path) -> Path:
    height, width = printed[0].shape
    raw = b"".join(one.astype(np.uint8).tobytes() for one in printed)
    ffmpeg("-f", "rawvideo", "-pix_fmt", "gray", "-s", f"{width}x{height}", "-r", 24, "-i", "-",
           *CODERS["ffv1"], to, given=raw)  # fmt: skip
    return to


def worn(picture: NDArray[np.float64], chance: np.random.Generator) -> NDArray[np.float64]:
    """Return a film frame as it is printed: with grain, weave, dirt and light of its own."""
    across, down = chance.normal(0, 0.15, 2)
    slid = picture + across * np.gradient(picture, axis=1) + down * np.gradient(picture, axis=0)
    slid *= 1 + chance.normal(0, 0.003)
    for _ in range(2):
        top, left = (chance.integers(0, size - 5) for size in slid.shape)
        slid[top : top + 2, left : left + 3] += chance.choice([-50, 60])
    return np.asarray(np.clip(np.rint(slid + chance.normal(0, 2.4, slid.shape)), 0, 255))


@pytest.mark.parametrize("runs", [(1, 2), (2,), (1, 1, 2)])
def test_stretch_printing_is_told_from_repeats(
    runs: tuple[int, ...], folder: Path, tmp_path: Path
) -> None:
    """Every second or third film frame printed twice, alike to 35 dB and never the same."""
    chance = np.random.default_rng(1)
    printed: list[NDArray[np.float64]] = []
    twins: list[float] = []
    for number, picture in enumerate(pictures(clip(folder, FRAMES), SIZE)):
        prints = [worn(picture, chance) for _ in range(runs[number % len(runs)])]
        twins += [float(((one - prints[0]) ** 2).mean()) for one in prints[1:]]
        printed += prints
    likeness = 10 * np.log10(255**2 / np.mean(twins))
    assert 34 < likeness < 36

    detection = found(written(printed, tmp_path / "printed.mkv"))

    assert NOTHING == overall_said(detection)
    # Where hardly anything moves nothing is told, as in the clip's third shot.
    assert 0.8 * len(printed) < sum(one.last - one.first + 1 for one in detection.on_film)
    begins = np.cumsum([0, *(runs[at % len(runs)] for at in range(FRAMES))])
    for one in detection.on_film:
        assert one.runs in {runs[at:] + runs[:at] for at in range(len(runs))}
        assert (one.first in begins) is (one.phase == 0)


def test_stretch_printing_of_drawn_pictures_is_found_where_they_move(
    folder: Path, tmp_path: Path
) -> None:
    """The demo's first reel, each second film frame printed twice, but for its last title."""
    chance = np.random.default_rng(1)
    printed = [
        worn(picture, chance)
        for number, picture in enumerate(pictures(titled(folder), (320, 240)))
        for _ in range(1 + number % 2)
    ]

    told = found(written(printed, tmp_path / "printed.mkv")).on_film

    assert 0.75 * len(printed) < sum(one.last - one.first + 1 for one in told)
    for one in told:
        assert one.runs in {(1, 2), (2, 1)}
        # Of three pictures the first shows one film frame, and the others the next.
        place = one.first % 3
        assert ((place, one.runs), one.phase) in {
            ((0, (1, 2)), 0), ((1, (2, 1)), 0), ((2, (2, 1)), 1),
        }  # fmt: skip


def test_a_cadence_goes_on_through_a_still_if_its_phase_agrees(
    folder: Path, tmp_path: Path
) -> None:
    """20 in 24: a freeze of 60 pictures, ten cycles, leaves the phase; one of 62 does not."""
    source = make(clip(folder, FRAMES), "20", "fps=24", folder / "20-24.mkv")
    for length, stretches in ((60, 1), (62, 3)):
        path = tmp_path / f"frozen-{length}.mkv"
        chain = f"loop=loop={length}:size=1:start=80"
        ffmpeg("-i", source, "-vf", chain, *CODERS["ffv1"], path)

        detection = found(path)

        assert stretches == len(detection.stretches)
        ((first, last),) = detection.stills
        assert abs(first - 80) <= 2
        assert abs(last - (80 + length)) <= 2
        kinds = [one.kind for one in detection.stretches]
        assert [Kind.REPEATS, Kind.STILL, Kind.REPEATS][:stretches] == kinds


def test_what_repeats_without_a_pattern_is_not_regular_and_told_in_full(
    folder: Path, tmp_path: Path
) -> None:
    chance = np.random.default_rng(4)
    source = make(clip(folder, FRAMES), "24", "null", folder / "24-ffv1.mkv")
    runs = [int(run) for run in chance.choice([1, 1, 2, 3, 5], 60)]
    order = [number for number, run in enumerate(runs) for _ in range(run)]

    detection = found(ordered(source, order, SIZE, tmp_path / "irregular.mkv"))

    irregular = [one for one in detection.stretches if one.kind is Kind.IRREGULAR]
    assert 0.8 * len(order) < sum(one.count for one in irregular)
    assert right(detection, Shown(upper=tuple(order), lower=tuple(order))).mean() > 0.97


def test_a_cycle_that_no_rule_lays_is_found_by_its_coming_again(
    folder: Path, tmp_path: Path
) -> None:
    runs = (1, 3, 1, 1, 4, 1, 2)
    source = make(clip(folder, FRAMES), "24", "null", folder / "24-ffv1.mkv")
    order = [number for number in range(70) for _ in range(runs[number % len(runs)])]

    (one,) = found(ordered(source, order, SIZE, tmp_path / "odd.mkv")).stretches

    assert Kind.REPEATS is one.kind
    assert one.runs in {runs[at:] + runs[:at] for at in range(len(runs))}


def test_film_frames_left_out_are_told_by_movement_that_leaps(folder: Path) -> None:
    """30 film frames in 25: FFmpeg's fps leaves one of each six out (run: it shows 0 1 2 4 5)."""
    path = folder / "30-in-25.mkv"
    filters = speeded("30", "fps=25")
    source = clip(folder, FRAMES)
    ffmpeg("-i", source, "-vf", f"trim=start_frame=32:end_frame=170,{filters}",
           "-fps_mode", "passthrough", *CODERS["ffv1"], path)  # fmt: skip

    detection = found(path)

    assert [5] == [one.every for one in detection.leaps]
    (leaps,) = detection.leaps
    assert {3} == {place % 5 for place in leaps.places}


def test_pictures_that_do_otherwise_are_exceptions(folder: Path, tmp_path: Path) -> None:
    """In 20 in 24, one repeat is replaced by a picture of its own."""
    source = make(clip(folder, FRAMES), "20", "fps=24", folder / "20-24.mkv")
    path = tmp_path / "exception.mkv"
    chain = "geq=lum='if(eq(N,63),255-lum(X,Y),lum(X,Y))':cb=128:cr=128"
    ffmpeg("-i", source, "-vf", chain, *CODERS["ffv1"], path)
    whole = shown_by(folder, FRAMES, "20", "fps=24")
    assert whole.upper[63] == whole.upper[62]

    told = [odd for one in found(path).stretches for odd in one.odd]
    first = {one.first for one in found(path).stretches}

    assert 63 in first or (63, True) in {(odd.picture, odd.is_new) for odd in told}
