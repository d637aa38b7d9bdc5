"""Leaders at both ends of a scan, and reels in order."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from drawnfilms import drawn

from retime.errors import CommandError
from retime.shots.finding import find_shots
from retime.shots.found import LeaderKind
from retime.shots.measures import Eye
from retime.shots.ordering import film_named_by, in_order
from retime.signal.fades import rise_in

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from retime.shots.found import ScanShots

    Pictures = NDArray[np.uint8]

ROWS, COLUMNS = 120, 160
CHANCE = np.random.default_rng(11)


def even(tone: int, count: int) -> Pictures:
    """Return pictures of one tone, with some grain."""
    grain = CHANCE.normal(0, 1.5, (count, ROWS, COLUMNS))
    return np.clip(tone + grain, 0, 255).astype(np.uint8)


def digit(number: int, count: int) -> Pictures:
    """Return pictures of a mark on a ground, another one for each number."""
    pictures = even(30, count)
    pictures[:, 30 : 40 + 5 * number, 60 + 4 * number : 72 + 4 * number] = 220
    return pictures


def scene() -> Pictures:
    """Return a shot in which something moves: 40 frames from a drawn film."""
    film = drawn(3, shots=1)
    return film.pictures[np.arange(40) % len(film.pictures)]


def title() -> Pictures:
    """Return a title of 30 frames."""
    film = drawn(20_003)
    shot = next(one for one in film.shots if one.title and one.last - one.first >= 12)
    middle = (shot.first + shot.last) // 2
    return np.repeat(film.pictures[middle : middle + 1], 30, axis=0)


def seen(*parts: Iterable[NDArray[np.uint8]]) -> ScanShots:
    eye = Eye()
    for part in parts:
        for picture in part:
            eye.see(picture)
    return find_shots(eye.measures())


def test_black_at_both_ends_is_leader() -> None:
    found = seen(even(5, 9), scene(), even(5, 6))

    assert (9, 48) == (found.first, found.last)
    assert [LeaderKind.BLACK] == [piece.kind for piece in found.head]


def test_white_and_black_before_the_picture_are_leader() -> None:
    found = seen(even(210, 8), even(5, 10), scene())

    assert (18, 57) == (found.first, found.last)


def test_an_odd_frame_in_black_is_a_sync_punch_and_all_before_it_is_leader() -> None:
    punch = even(5, 1)
    punch[:, 45:75, 65:95] = 240

    found = seen(even(5, 6), punch, even(5, 12), scene())

    assert 19 == found.first
    assert LeaderKind.PUNCH in {piece.kind for piece in found.head}


def test_counting_is_leader() -> None:
    count = [digit(number, 12) for number in range(6)]

    found = seen(*count, even(5, 4), scene())

    assert 76 == found.first


def test_a_title_between_two_blacks_is_the_films_own() -> None:
    found = seen(even(5, 6), title(), even(5, 8), scene())

    assert 6 == found.first
    assert found.shots[0].title


def test_a_scan_without_leaders_is_picture_from_end_to_end() -> None:
    found = seen(scene())

    assert (0, 39, (), ()) == (found.first, found.last, found.head, found.tail)


def test_reels_are_ordered_by_their_names_numbers() -> None:
    named = in_order([Path("f/reel-10.mkv"), Path("f/reel-9.mkv"), Path("f/reel-2.mkv")])

    assert ["2", "9", "10"] == [one.reel for one in named]
    assert "f/reel-2.mkv" == str(named[0].path)


def test_numbered_files_are_reels_by_their_folders() -> None:
    named = in_order([Path("film/r12/%06d.dpx"), Path("film/r3/%06d.dpx")])

    assert [("3", "r3"), ("12", "r12")] == [(one.reel, one.path.parent.name) for one in named]


@pytest.mark.parametrize("names", [("a.mkv", "b.mkv"), ("x1-4k.mkv", "y1-4k.mkv")])
def test_reels_without_numbers_of_their_own_are_counted(names: tuple[str, str]) -> None:
    assert ["1", "2"] == [one.reel for one in in_order(map(Path, names))]


def test_a_scan_is_named_once() -> None:
    with pytest.raises(CommandError, match="named twice"):
        in_order([Path("a.mkv"), Path("./a.mkv")])


def test_a_film_is_called_by_its_folder(tmp_path: Path) -> None:
    folder = tmp_path / "The Lamp"

    assert "The Lamp" == film_named_by([folder / "reel.mkv"])


def test_a_rise_is_found_to_the_step() -> None:
    steps = np.arange(1, 13) / 13
    series = np.concatenate([np.zeros(4), 80 * steps, np.full(20, 80.0)]).astype(np.float32)

    rise = rise_in(series, 4)

    assert rise is not None
    assert (4, 12) == (rise.nothing, rise.steps)
    assert 80 == pytest.approx(rise.level)


def test_a_cut_from_black_is_no_rise() -> None:
    series = np.concatenate([np.zeros(4), np.full(20, 80.0)]).astype(np.float32)

    rise = rise_in(series, 4)

    assert rise is not None
    assert 0 == rise.steps
