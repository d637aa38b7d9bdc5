"""Deliverables of another raster than their scans', looked at by the second reader."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest
from numbered import write_scan
from rendering import ffmpeg, look, made, reported, retime, write_map

from retime.edition.join import join
from retime.report.rasters import raster_said, raster_values

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

FRAMES = 3
PLAYED = list(range(FRAMES))
ONE_REEL = "  - {reel: 1, scan: scan.mkv}"
PROFILE = """\
format: retime-profile/1
profile: {name}
promises: Pictures for the reading room of the harbour museum, invented
codec: {codec}
container: {container}
rates: any
{rest}
"""
HD = "size: 1920x1080\ndisplay-aspect: 16:9"
PAL = "size: 720x576\ndisplay-aspect: 4:3"
NTSC = "size: 720x480\ndisplay-aspect: 4:3"
CODECS = {
    "ffv1": ("ffv1", "mkv", ""),
    "prores": ("prores", "mov", "variant: lt\npixel-formats: [yuv422p10le]\n"),
    "h264": ("h264", "mp4", "pixel-formats: [yuv420p]\noptions: {preset: ultrafast, crf: '12'}\n"),
    "mpeg2": ("mpeg2", "mkv", "pixel-formats: [yuv420p]\noptions: {b: 8M}\n"),
    "dpx": ("dpx", "sequence", "pixel-formats: [gbrp10be]\n"),
    "tiff": ("tiff", "sequence", "pixel-formats: [rgb48le]\n"),
}


@pytest.fixture(autouse=True)
def _own_homes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


def profile(folder: Path, name: str, codec: str, rest: str) -> None:
    """Write a profile of the user's own."""
    shelf = folder / "config" / "retime" / "profiles"
    shelf.mkdir(parents=True, exist_ok=True)
    encoder, container, told = CODECS[codec]
    text = PROFILE.format(name=name, codec=encoder, container=container, rest=told + rest)
    (shelf / f"{name}.yaml").write_text(text, encoding="utf-8")


def scanned(
    folder: Path,
    size: tuple[int, int],
    aspect: str | None = None,
    pixel_format: str = "yuv422p10le",
    name: str = "scan.mkv",
) -> Path:
    """Write a numbered scan; ``aspect`` is how it is to be shown, told in its header."""
    path = folder / name
    if aspect is None:
        tags = {"colorspace": 1}  # ITU-T H.273: BT.709
        intra = {"level": "3", "g": "1"}
        return write_scan(path, FRAMES, "ffv1", pixel_format, intra, size, attributes=tags)
    plain = scanned(folder, size, None, pixel_format, f"plain-{name}")
    ffmpeg("-i", plain, "-c", "copy", "-aspect", aspect, path)
    plain.unlink()
    return path


def deliverable(folder: Path, told: str = "profile: own", rate: int = 18) -> Path:
    return write_map(folder, ONE_REEL, f"  d: {{version: v, {told}, rate: {rate}}}")


def rendered(folder: Path, told: str = "profile: own") -> Path:
    return made(deliverable(folder, told), folder / "out")["d"]


def greys(path: Path, raster: tuple[int, int]) -> NDArray[np.uint8]:
    """Return all pictures as the second reader decodes them, shape (count, height, width)."""
    if path.is_dir():
        first = min(one for one in path.iterdir() if one.suffix != ".json")
        path /= first.name.replace(".0000000.", ".%07d.")
    done = ffmpeg(
        *("-i", path, "-map", "0:v:0", "-fps_mode", "passthrough"),
        *("-vf", "format=gray", "-f", "rawvideo", "-"),
    )
    return np.frombuffer(done.stdout, np.uint8).reshape(-1, raster[1], raster[0])


def bars(pictures: NDArray[np.uint8]) -> tuple[int, int, int, int]:
    """Return how many samples are dark at the left, right, top and bottom of every picture."""
    brightest = pictures.min(axis=0)  # the ring around a number is white in all of them
    columns = np.flatnonzero(brightest.max(axis=0) > 60)
    rows = np.flatnonzero(brightest.max(axis=1) > 60)
    height, width = brightest.shape
    return int(columns[0]), width - 1 - int(columns[-1]), int(rows[0]), height - 1 - int(rows[-1])


@pytest.mark.parametrize("codec", [codec for codec in CODECS if codec != "mpeg2"])
def test_a_full_frame_scan_stands_between_black_in_every_kind_of_file(
    codec: str, tmp_path: Path
) -> None:
    """Full-frame 1.33 in 1920x1080 is 1440 wide, with 240 black at each side."""
    scanned(tmp_path, (288, 216))
    profile(tmp_path, "own", codec, f"raster: pad\n{HD}")

    path = rendered(tmp_path)
    seen = look(path)

    assert ((1920, 1080), PLAYED) == (seen.raster, list(seen.numbers))
    assert seen.sample_aspect in {None, 1}
    found = bars(greys(path, (1920, 1080)))
    assert all(abs(one - 240) <= 1 for one in found[:2]), found
    assert (0, 0) == found[2:]
    dark = greys(path, (1920, 1080))[..., :236]
    assert dark.max() <= (1 if codec not in {"h264", "prores"} else 3), "black is black"


@pytest.mark.parametrize(
    ("raster", "expected", "aspect", "beside"),
    [
        # Rec. ITU-T H.264, table E-1: 12:11 and 10:11; 16:15 and 8:9 are common practice.
        (f"{PAL}\nactive-width: 704", (720, 576), "12/11", 8),
        (PAL, (720, 576), "16/15", 0),
        (f"{NTSC}\nactive-width: 704", (720, 480), "10/11", 8),
        (NTSC, (720, 480), "8/9", 0),
        (f"{PAL.replace('4:3', '16:9')}\nactive-width: 704", (720, 576), "16/11", 96),
    ],
)
@pytest.mark.parametrize("codec", ["ffv1", "prores", "h264", "dpx", "tiff"])
def test_standard_definition_rasters_say_their_sample_aspect(  # noqa: PLR0913, PLR0917
    raster: str,
    expected: tuple[int, int],
    aspect: str,
    beside: int,
    codec: str,
    tmp_path: Path,
) -> None:
    scanned(tmp_path, (288, 216))
    profile(tmp_path, "own", codec, f"raster: pad\n{raster}")

    path = rendered(tmp_path)
    seen = look(path)

    assert (expected, Fraction(aspect)) == (seen.raster, seen.sample_aspect)
    assert PLAYED == list(seen.numbers)
    assert (beside, beside, 0, 0) == bars(greys(path, expected))


@pytest.mark.parametrize("active", ["", "\nactive-width: 704"])
@pytest.mark.parametrize("raster", [PAL, NTSC])
@pytest.mark.parametrize("display", ["4:3", "16:9"])
def test_mpeg_2_says_the_display_aspect(
    display: str, raster: str, active: str, tmp_path: Path
) -> None:
    """ISO/IEC 13818-2, table 6-3: 4:3 and 16:9 are said of the whole raster, 720 wide or not."""
    scanned(tmp_path, (288, 216))
    profile(tmp_path, "own", "mpeg2", f"raster: pad\n{raster.replace('4:3', display)}{active}")

    path = made(deliverable(tmp_path, rate=25), tmp_path / "out")["d"]
    seen = look(path)

    width, height = seen.raster
    assert seen.sample_aspect is not None
    assert Fraction(display.replace(":", "/")) == Fraction(width, height) * seen.sample_aspect


@pytest.mark.parametrize(
    ("size", "aspect"), [((180, 144), "4:3"), ((180, 120), "4:3"), ((176, 144), "4:3")]
)
def test_a_scan_whose_samples_are_not_square_keeps_its_shape(
    size: tuple[int, int], aspect: str, tmp_path: Path
) -> None:
    scanned(tmp_path, size, aspect)
    profile(tmp_path, "own", "ffv1", "raster: pad\nsize: 480x270\ndisplay-aspect: 16:9")

    path = rendered(tmp_path)

    assert (60, 60, 0, 0) == bars(greys(path, (480, 270)))
    assert PLAYED == list(look(path).numbers)


def test_a_137_scan_is_padded_above_and_below_or_loses_its_sides(tmp_path: Path) -> None:
    scan = scanned(tmp_path, (440, 320))
    sd = "size: 640x480\ndisplay-aspect: 4:3"
    profile(tmp_path, "own", "ffv1", f"raster: pad\n{sd}")
    deliverables = "  pad: {version: v, profile: own, rate: 18}\n"
    deliverables += "  fill: {version: v, profile: own, raster: fill, rate: 18}"
    speed_map = write_map(tmp_path, ONE_REEL, deliverables)

    paths = made(speed_map, tmp_path / "out")

    # 640 / 1.375 = 465.5 lines, of which chroma of 4:2:2 takes any number: 465, and 7 and 8 black.
    assert (0, 0, 7, 8) == bars(greys(paths["pad"], (640, 480)))
    assert (0, 0, 0, 0) == bars(greys(paths["fill"], (640, 480)))
    for path in paths.values():
        assert ((640, 480), PLAYED) == (look(path).raster, list(look(path).numbers))
    # 320 x 4/3 = 426.7 of 440 samples: 426, the 7th the first; the program scales them its own way.
    command = ("-i", scan, "-vf", "crop=426:320:6:0,scale=640:480:flags=lanczos+accurate_rnd")
    ffmpeg(*command, "-pix_fmt", "yuv422p10le", "-c:v", "ffv1", tmp_path / "own.mkv")
    other = greys(tmp_path / "own.mkv", (640, 480)).astype(int)
    assert abs(other - greys(paths["fill"], (640, 480))).max() <= 2


def test_filling_fills_the_active_width_and_no_more(tmp_path: Path) -> None:
    scanned(tmp_path, (440, 320))
    profile(tmp_path, "own", "ffv1", f"raster: fill\n{PAL}\nactive-width: 704")

    path = rendered(tmp_path)

    assert PLAYED == list(look(path).numbers)
    assert (8, 8, 0, 0) == bars(greys(path, (720, 576)))


def test_what_is_done_is_told(tmp_path: Path) -> None:
    scanned(tmp_path, (288, 216))
    profile(tmp_path, "own", "ffv1", f"raster: pad\n{HD}")
    speed_map = deliverable(tmp_path)
    edition = join(speed_map)
    (making,) = edition.makings

    (told,) = reported(speed_map)["deliverables"]

    assert "encode-once" == told["route"]
    assert "no copy: 288x216 is padded into 1920x1080" == told["reason"]
    assert "1920x1080: 288x216 scaled to 1440x1080, black 240 left, 240 right" == raster_said(
        making
    )
    assert {
        "fit": "pad",
        "size": "1920x1080",
        "sample_aspect": "1",
        "active_width": 1920,
        "reels": [
            {
                "reel": "1",
                "size": "288x216",
                "sample_aspect": None,
                "taken": "288x216+0+0",
                "placed": "1440x1080+240+0",
            }
        ],
    } == raster_values(making)


def test_a_scan_that_fits_already_is_copied(tmp_path: Path) -> None:
    scanned(tmp_path, (320, 180))
    profile(tmp_path, "own", "ffv1", "raster: pad\nsize: 320x180\ndisplay-aspect: 16:9")

    (told,) = reported(deliverable(tmp_path))["deliverables"]

    assert "copy" == told["route"]


def test_a_map_names_the_raster_where_its_profile_does_not(tmp_path: Path) -> None:
    scanned(tmp_path, (288, 216))

    path = rendered(tmp_path, "profile: h264-viewing, raster: pad, size: 1280x720")

    seen = look(path)
    assert ((1280, 720), Fraction(1)) == (seen.raster, seen.sample_aspect)
    assert PLAYED == list(seen.numbers)
    assert (160, 160, 0, 0) == bars(greys(path, (1280, 720)))


def test_reels_of_two_rasters_come_into_one(tmp_path: Path) -> None:
    scanned(tmp_path, (288, 216))
    scanned(tmp_path, (440, 320), name="two.mkv")
    profile(tmp_path, "own", "ffv1", "raster: pad\nsize: 640x360\ndisplay-aspect: 16:9")
    reels = f"{ONE_REEL}\n  - {{reel: 2, scan: two.mkv}}"
    speed_map = write_map(tmp_path, reels, "  d: {version: v, profile: own, rate: 18}")

    path = made(speed_map, tmp_path / "out")["d"]

    assert [*PLAYED, *PLAYED] == list(look(path).numbers)
    pictures = greys(path, (640, 360))
    assert (80, 80, 0, 0) == bars(pictures[:FRAMES])
    assert (72, 72, 0, 0) == bars(pictures[FRAMES:])  # 360 x 1.375 = 495: 496, as chroma asks


@pytest.mark.parametrize(
    ("told", "key", "expected"),
    [
        (
            "ffv1-master, raster: pad",
            "raster",
            "to pad needs a raster, and ffv1-master states none",
        ),
        ("ffv1-master, raster: stretch", "raster", "\"stretch\" is not known here; write 'keep', "),
        ("ffv1-master, raster: pad, size: 0x0", "size", "'0x0' is no raster; write width x height"),
        ("own, size: 640x360", "size", "own states its raster, 1920x1080; leave size out"),
        ("own, raster: keep", "raster", "the scan is 288x216, and own is 1920x1080; write raster"),
        (
            "kept",
            "profile",
            "the scan is 288x216, and kept is 720x576; write raster: pad or raster",
        ),
        (
            "as-scanned, raster: fill, size: 64x48",
            "raster",
            "as-scanned copies the scan's pictures",
        ),
        ("as-scanned, size: 64x48", "size", "as-scanned copies the scan's pictures, which have"),
        (
            "h264-viewing, raster: pad, size: 641x360",
            "size",
            "641x360 does not divide into the chroma samples of yuv420p; h264-viewing takes an",
        ),
        (
            "h264-viewing, raster: fill, size: 640x361",
            "size",
            "640x361 does not divide into the chroma samples of yuv420p; h264-viewing takes an",
        ),
        ("ffv1-master, size: 640x360", "size", "the scan is 288x216, and d is 640x360"),
    ],
)
def test_a_raster_that_cannot_be_met_is_refused_at_its_line(
    told: str, key: str, expected: str, tmp_path: Path
) -> None:
    scanned(tmp_path, (288, 216))
    profile(tmp_path, "own", "ffv1", f"raster: pad\n{HD}")
    profile(tmp_path, "kept", "ffv1", PAL)
    speed_map = deliverable(tmp_path, f"profile: {told}")
    line = speed_map.read_text().splitlines()[8]
    column = line.index(f"{key}: ") + len(f"{key}: ") + 1

    for command in ("lint", "report"):
        done = retime(command, speed_map)

        assert 2 == done.code
        lines = (done.result + done.messages).replace("\n", " ")
        assert f"{speed_map}:9:{column}: {expected}" in lines, lines


def test_a_kept_raster_has_to_have_the_sample_aspect_that_is_stated(tmp_path: Path) -> None:
    profile(tmp_path, "own", "ffv1", f"raster: keep\n{PAL}\nactive-width: 704")
    scanned(tmp_path, (720, 576), "4:3")

    done = retime("lint", deliverable(tmp_path))

    assert 2 == done.code
    assert "the scan's sample aspect is 16/15, and that of own is 12/11" in done.result


def test_a_scan_that_tells_no_sample_aspect_is_given_the_one_that_is_stated(tmp_path: Path) -> None:
    profile(tmp_path, "own", "ffv1", f"raster: keep\n{PAL}\nactive-width: 704")
    scanned(tmp_path, (720, 576))

    path = rendered(tmp_path)

    assert Fraction(12, 11) == look(path).sample_aspect
    assert (0, 0, 0, 0) == bars(greys(path, (720, 576)))


def test_a_raster_is_refused_without_looking_at_any_scan(tmp_path: Path) -> None:
    reel = "  - {reel: 1, scan: away/scan.mkv, frames: 3}"
    speed_map = write_map(
        tmp_path, reel, "  d: {version: v, profile: ffv1-master, raster: fill, rate: 18}"
    )

    done = retime("lint", speed_map)

    assert 2 == done.code
    assert "to fill needs a raster, and ffv1-master states none" in done.result + done.messages
