"""Text burnt into reference copies, read from the decoded pictures and held against the plan.

Labels are counted here once more, by the rule of SMPTE ST 12-1: drop-frame leaves out labels 00
and 01 of every minute but the tenth ones.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import islice
from typing import TYPE_CHECKING, Any

import av
import numpy as np
import pytest
from assembled import a_film, a_map, input_of
from av.video.stream import VideoStream
from burnt import read_burnt
from rendering import ffmpeg, listed, made, retime, write_map

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from numpy.typing import NDArray

ALL = "burn: [timecode, reel, frame, feet, shot, version]"
PER_FOOT = 16  # 35 mm
VERSION = "restrained"
REPLACED = {"1t": "1"}
"""The reels of shots that have a picture in their place."""


def drop_frame_labels(first: str) -> Iterator[str]:
    """Yield labels from one on, at 30 nominal frames a second and drop-frame, by counting up."""
    at = tuple(int(part) for part in first.replace(";", ":").split(":"))
    while True:
        hour, minute, second, frame = at
        yield f"{hour:02}:{minute:02}:{second:02};{frame:02}"
        frame += 1
        second, frame = second + frame // 30, frame % 30
        minute, second, begun = minute + second // 60, second % 60, second // 60
        hour, minute = (hour + minute // 60) % 24, minute % 60
        at = (hour, minute, second, 2 if begun and minute % 10 else frame)


def pictures_of(path: Path, size: tuple[int, int]) -> NDArray[np.uint8]:
    """Return all pictures in grey, shape (count, height, width), as the ffmpeg program decodes."""
    done = ffmpeg(
        *("-i", input_of(path), "-map", "0:v:0", "-fps_mode", "passthrough"),
        *("-pix_fmt", "gray", "-f", "rawvideo", "-"),
    )
    return np.frombuffer(done.stdout, np.uint8).reshape(-1, size[1], size[0])


def worded(speed_map: Path, name: str) -> list[list[str]]:
    """Return the words that are to be burnt into every output frame, by ``retime frames``.

    Of several film frames it is the one with the largest part, the earlier of equals; of two
    fields what the first shows.
    """
    outputs: dict[str, dict[str, str]] = {}
    for row in listed(speed_map, name):
        before = outputs.get(row["output"])
        larger = before is None or Fraction(row["weight"]) > Fraction(before["weight"])
        if row["field"] != "2" and larger:
            outputs[row["output"]] = row
    return [_words(row) for row in outputs.values()]


def _words(row: dict[str, str]) -> list[str]:
    words = [row["timecode"]]
    if row["frame"]:
        frame = int(row["frame"])
        words += ["reel", row["reel"], "frame", row["frame"]]
        words += [f"{frame // PER_FOOT}+{frame % PER_FOOT:02}", "ft"]
    if row["shot"]:  # a replaced shot is still that shot, and an inset has a name and no reel
        reel = row["reel"] or REPLACED.get(row["shot"])
        words.append(f"{reel}/{row['shot']}" if reel else row["shot"])
    return [*words, VERSION]


def read_words(pictures: Iterable[NDArray[np.uint8]], **how: Any) -> list[list[str] | None]:
    """Return the words that are burnt into pictures, None where they cannot be read."""
    texts = (read_burnt(picture, **how) for picture in pictures)
    return [None if text is None else text.split() for text in texts]


# A minute and more

MINUTE = (240, 180)
FRAMES = 402  # of each reel
SHOT = 67
LABELS = {
    # The first minute drops two labels, the tenth none, and the last ends the day.
    "h264-viewing": "00:00:45;00",
    "ffv1-master": "00:09:30;00",
    "prores-mezzanine": "23:59:30;00",
}


def level_of(reel: str, frame: int) -> int:
    """Return how bright a film frame is, 7 more or less than its neighbours."""
    return 60 + (7 * frame + 13 * int(reel)) % 119


@pytest.fixture(scope="module")
def minute(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a map of a minute in three reels of even pictures, each as bright as its number is."""
    folder = tmp_path_factory.mktemp("minute")
    reels = ["1", "2", "3"]
    for reel in reels:
        _write_even(folder / f"{reel}.mkv", [level_of(reel, frame) for frame in range(FRAMES)])
    shots = [
        f"  - {{reel: {reel}, first: {first}, last: {first + SHOT - 1}, shot: {first // SHOT + 1}}}"
        for reel in reels
        for first in range(0, FRAMES, SHOT)
    ]
    owed = [
        f"  {profile}: {{version: {VERSION}, profile: {profile}, rate: 29.97, {ALL}, "
        f"timecode: {label}}}"
        for profile, label in LABELS.items()
    ]
    return write_map(
        folder,
        "\n".join(f"  - {{reel: {reel}, scan: {reel}.mkv}}" for reel in reels),
        "\n".join(owed),
        f"  {VERSION}: {{speed: 20 fps}}",
        "\n".join(shots),
    )


def _write_even(path: Path, levels: Iterable[int]) -> None:
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=20, options={"level": "3", "g": "1"})
        assert isinstance(stream, VideoStream)
        (stream.width, stream.height), stream.pix_fmt = MINUTE, "gray"
        for level in levels:
            even = np.full(MINUTE[::-1], level, np.uint8)
            container.mux(stream.encode(av.VideoFrame.from_ndarray(even, format="gray")))
        container.mux(stream.encode(None))


@pytest.mark.parametrize("profile", LABELS)
def test_for_a_minute_every_label_is_that_of_its_frame_across_labels_that_are_dropped(
    profile: str, minute: Path
) -> None:
    pictures = pictures_of(made(minute, minute.parent / "out", profile)[profile], MINUTE)
    words = read_words(pictures)
    labels = list(islice(drop_frame_labels(LABELS[profile]), len(pictures)))

    assert len(pictures) > 60 * 30
    assert worded(minute, profile) == words
    assert labels == [one[0] for one in words if one]
    # What is told of the film is what is seen of it.
    film = [level_of(one[2], int(one[4])) for one in words if one]
    assert np.abs(pictures[:, 4, 4].astype(int) - film).max() <= 2


def test_labels_are_dropped_and_the_day_ends_as_the_standard_has_it() -> None:
    first = list(islice(drop_frame_labels(LABELS["h264-viewing"]), 1800))
    tenth = list(islice(drop_frame_labels(LABELS["ffv1-master"]), 1800))
    last = list(islice(drop_frame_labels(LABELS["prores-mezzanine"]), 1800))

    assert ["00:00:59;29", "00:01:00;02"] == first[449:451]
    assert ["00:09:59;29", "00:10:00;00"] == tenth[899:901]
    assert ["23:59:59;29", "00:00:00;00"] == last[899:901]


# An assembled film with a head

RASTER = (640, 480)
LEADERS = (
    "head: [{black: 0.1 s}, {movie: logo.mkv}, {still: slate.png, for: 0.1 s}], "
    "tail: {still: end.jpg, for: 0.1 s}"
)
CARRIED = {
    "frames": "rate: 29.97, phase: per-shot, timecode: 00:10:00;00",
    "fields": "rate: 25, scanning: top-first, timecode: 01:00:00:00",
    "pulldown": "rate: 29.97, scanning: bottom-first, pulldown: 2:3, timecode: 00:01:00;02",
    "blend": "rate: 24, method: blend, timecode: 01:00:00:00, timecode-at: file",
}


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the folder of a film's numbered scans and plates."""
    return a_film(tmp_path_factory.mktemp("film"), RASTER)


def _planes(path: Path) -> list[NDArray[np.uint16]]:
    """Return all of Y, Cb and Cr, shape (count, height, width)."""
    width, height = RASTER
    done = ffmpeg(
        *("-i", path, "-map", "0:v:0", "-fps_mode", "passthrough"),
        *("-pix_fmt", "yuv422p10le", "-f", "rawvideo", "-"),
    )
    whole = np.frombuffer(done.stdout, np.uint16).reshape(-1, 2 * height * width)
    luma, *chroma = np.split(whole, [height * width, height * width * 3 // 2], axis=1)
    return [
        luma.reshape(-1, height, width),
        *(one.reshape(-1, height, width // 2) for one in chroma),
    ]


@pytest.mark.parametrize("carried", CARRIED)
def test_an_assembly_has_its_words_in_a_box_and_is_bit_identical_outside(
    carried: str, film: Path, tmp_path: Path
) -> None:
    how = f"version: brief, profile: ffv1-master, {CARRIED[carried]}, {LEADERS}"
    speed_map = a_map(film, tmp_path, f"  burnt: {{{how}, {ALL}}}\n  plain: {{{how}}}")
    text = speed_map.read_text().replace("film: Numbers", "film: Numbers\ntransfer: bt1886")
    speed_map.write_text(text.replace("brief", VERSION))
    paths = made(speed_map, tmp_path / "out")
    burnt, plain = (_planes(paths[name]) for name in ("burnt", "plain"))
    words = worded(speed_map, "burnt")
    # EBU R 95: graphics keep 5 % from every edge.
    left, right, bottom = RASTER[0] // 20, RASTER[0] * 19 // 20, RASTER[1] * 19 // 20

    assert words == read_words((burnt[0] >> 2).astype(np.uint8))
    assert any("reel" not in one for one in words)
    rows, columns = np.nonzero((burnt[0] != plain[0]).any(axis=0))
    assert bottom - RASTER[1] // 8 <= rows.min()
    assert bottom > rows.max()
    assert left <= columns.min()
    assert right > columns.max()
    # A box has no colour, and neither has the film.
    assert np.array_equal(plain[1:], burnt[1:])


PROFILES = {
    # raster, and what the reader is told of its samples
    "h264-viewing": ("rate: 24", RASTER, {}),
    "prores-mezzanine": ("rate: 25", RASTER, {}),
    "dpx-sequence": ("rate: 24", RASTER, {}),
    "tiff-sequence": ("rate: 24", RASTER, {}),
    "dnxhd-mezzanine": ("rate: 24", (1920, 1080), {}),
    # 4:3 is 704 of the 720 samples, as Rec. ITU-R BT.601 has them
    "disc-sd-525": (
        "rate: 29.97",
        (720, 480),
        {"sample_aspect": Fraction(10, 11), "active_width": 704},
    ),
}


@pytest.mark.parametrize("profile", PROFILES)
def test_words_can_be_read_in_every_kind_of_profile(
    profile: str, film: Path, tmp_path: Path
) -> None:
    how, raster, samples = PROFILES[profile]
    owed = f"  a: {{version: brief, profile: {profile}, {how}, {LEADERS}, {ALL}}}"
    speed_map = a_map(film, tmp_path, owed)
    speed_map.write_text(speed_map.read_text().replace("brief", VERSION))
    path = made(speed_map, tmp_path / "out")["a"]

    assert worded(speed_map, "a") == read_words(pictures_of(path, raster), **samples)


def test_feet_are_counted_from_the_first_frame_of_picture_on_the_reels_own_gauge(
    tmp_path: Path,
) -> None:
    """16 mm film has 40 frames to a foot, 35 mm film 16."""
    for reel in ("1", "2"):
        _write_even(tmp_path / f"{reel}.mkv", [level_of(reel, frame) for frame in range(60)])
    reels = "  - {reel: 1, scan: 1.mkv, first: 5}\n"
    reels += "  - {reel: 2, scan: 2.mkv, first: 10, gauge: 16mm}"
    owed = "  a: {version: v, profile: ffv1-master, rate: 18, burn: [reel, frame, feet]}"
    speed_map = write_map(tmp_path, reels, owed)
    pictures = pictures_of(made(speed_map, tmp_path / "out")["a"], MINUTE)
    texts = [(read_burnt(picture) or "").replace("\n", "  ") for picture in pictures]

    first = [f"reel 1  frame {n:2}  {(n - 5) // 16}+{(n - 5) % 16:02} ft" for n in range(5, 60)]
    second = [f"reel 2  frame {n}  {(n - 10) // 40}+{(n - 10) % 40:02} ft" for n in range(10, 60)]
    assert [*first, *second] == texts


def test_a_rate_without_labels_has_none_burnt_in(tmp_path: Path) -> None:
    _write_even(tmp_path / "1.mkv", range(20))
    owed = "  a: {version: v, profile: ffv1-master, rate: 18.5, burn: [frame, timecode]}"
    speed_map = write_map(tmp_path, "  - {reel: 1, scan: 1.mkv}", owed)

    told = f"{speed_map}:9:59: a rate of 37/2 has no timecode that could be burnt in; "
    lint, report = retime("lint", speed_map), retime("report", speed_map)

    assert (2, True) == (lint.code, lint.result.startswith(told))
    assert (2, True) == (report.code, report.messages.startswith(told))
