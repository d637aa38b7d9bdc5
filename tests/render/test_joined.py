"""What is joined from pieces is what one encoder would have made in one, however it was made."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import av
import pytest
from numbered import read_movie
from piecemeal import a_long_film, known, left_over
from rendering import listed, retime, shown

from retime.edition.join import join
from retime.render.job import Job
from retime.render.means import Means
from retime.render.orders import orders_of

if TYPE_CHECKING:
    from pathlib import Path

    from piecemeal import Known

SMALL = ("--pieces", "9", "--workers", "1")


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a film, rendered in one and in pieces."""
    folder = tmp_path_factory.mktemp("joined")
    speed_map = a_long_film(folder)
    for name, more in (("whole", ()), ("pieces", SMALL)):
        (folder / name).mkdir()
        done = retime("render", speed_map, "-o", folder / name, *more)
        assert 0 == done.code, done.messages
    return folder


@pytest.fixture(scope="module")
def both(film: Path) -> tuple[dict[str, Known], dict[str, Known]]:
    return known(film / "whole"), known(film / "pieces")


def test_what_stands_alone_is_the_same_in_every_picture_time_sound_and_word(
    both: tuple[dict[str, Known], dict[str, Known]],
) -> None:
    whole, pieces = both
    assert list(whole) == list(pieces)
    assert 7 == len(whole)  # six deliverables, and a list of chapters
    for name, one in whole.items():
        if not name.endswith(".mp4"):
            assert one == pieces[name], name


def test_files_that_say_nothing_by_chance_are_the_same_in_every_byte(film: Path) -> None:
    """MOV says nothing by chance; Matroska has random numbers for its tracks."""
    for name in ("Numbers-once-24.mov", "Numbers-once-25.mov"):
        assert (film / "whole" / name).read_bytes() == (film / "pieces" / name).read_bytes()


def test_what_leans_on_its_neighbours_has_the_same_pictures_at_the_same_times(
    film: Path, both: tuple[dict[str, Known], dict[str, Known]]
) -> None:
    whole, pieces = (one["Numbers-viewing.mp4"] for one in both)
    name = "Numbers-viewing.mp4"
    wanted = shown(film / "map.yaml", "viewing")

    assert wanted[:40] == read_movie(film / "pieces" / name)[:40]
    assert len(wanted) == len(read_movie(film / "pieces" / name))
    for side in ("sound", "about", "streams"):
        assert whole[side] == pieces[side], side
    assert _times(whole) == _times(pieces)


def _times(one: Known) -> list[str]:
    lines = one["pictures"]
    assert isinstance(lines, list)
    return [line.rpartition(",")[0] for line in lines]


def test_a_stream_of_pieces_is_decoded_in_order_and_begins_each_with_a_closed_group(
    film: Path,
) -> None:
    """A key picture that is no IDR would let pictures lean back across it: H.264, 7.4.1.2.4."""
    with av.open(str(film / "pieces" / "Numbers-viewing.mp4")) as container:
        packets = [
            (packet.dts, packet.pts, packet.is_keyframe)
            for packet in container.demux(video=0)
            if packet.dts is not None and packet.pts is not None
        ]
    decoded, shown_at = [dts for dts, *_ in packets], [pts for _, pts, _ in packets]
    tick = decoded[1] - decoded[0]
    keys = [at for at, (*_, key) in enumerate(packets) if key]
    places = [(row["reel"], int(row["frame"])) for row in listed(film / "map.yaml", "viewing")]
    first = [("1", frame) for frame in (0, 9, 18, 25, 34)]
    first += [("2", frame) for frame in (3, 9, 14, 18, 21, 23, 25, 27)]
    begins = {places.index(place) for place in first}

    assert list(range(decoded[0], decoded[0] + tick * len(packets), tick)) == decoded
    assert begins <= {shown_at[at] // tick for at in keys}
    for at in keys:
        assert min(shown_at[at:]) == shown_at[at]


def test_a_piece_too_short_for_an_encoder_to_reorder_pictures_is_decoded_in_order_too(
    tmp_path: Path,
) -> None:
    """Of one or two pictures an encoder says that they are decoded when they are shown."""
    speed_map = a_long_film(tmp_path, "  x: {version: v, profile: h264-viewing, rate: 24}\n")
    fast = "v: {speed: 18 fps, shots: {1/2: 180 fps}}"  # the piece of frames 25 to 33
    speed_map.write_text(speed_map.read_text().replace("v: {speed: 18 fps}", fast))
    (tmp_path / "out").mkdir()
    done = retime("render", speed_map, "-o", tmp_path / "out", *SMALL)
    assert 0 == done.code, done.messages
    (path,) = (tmp_path / "out").iterdir()
    with av.open(str(path)) as container:
        decoded = [one.dts for one in container.demux(video=0) if one.dts is not None]
    wanted = listed(speed_map, "x")
    numbers = [int(row["frame"]) + 40 * (row["reel"] == "2") for row in wanted]

    assert numbers == read_movie(path)
    assert len(wanted) == len(decoded)
    assert 1 == len({after - before for before, after in pairwise(decoded)})


def test_nothing_is_left_of_pieces_that_are_joined(film: Path) -> None:
    assert [] == left_over(film / "pieces")


def test_a_part_in_pieces_is_what_the_part_is_in_one(film: Path, tmp_path: Path) -> None:
    part = ("once-24", "files", "--from", "00:00:00:12", "--to", "00:00:02:20")
    for name, more in (("whole", ()), ("pieces", SMALL)):
        (tmp_path / name).mkdir()
        done = retime("render", film / "map.yaml", *part, "-o", tmp_path / name, *more)
        assert 0 == done.code, done.messages

    assert known(tmp_path / "whole") == known(tmp_path / "pieces")


def test_a_film_that_is_short_is_made_in_one(film: Path, tmp_path: Path) -> None:
    done = retime("render", film / "map.yaml", "once-25", "-o", tmp_path, "--pieces", "47")

    assert 0 == done.code
    assert "in one pass" in done.messages
    assert not list(tmp_path.glob(".*"))


def test_the_space_check_counts_what_is_kept_until_it_is_joined(film: Path) -> None:
    edition = join(film / "map.yaml", scans_needed=True)
    orders = orders_of(edition, film / "new")
    stored = Job(edition, orders, Means(pieces=9)).stored

    assert [["once-24", "once-25"], ["blend"], ["viewing"]] == [
        [order.name for order in group] for group in stored
    ]
    assert [] == list(Job(edition, orders, Means()).stored)


def test_discs_and_fields_are_the_same_in_every_byte(tmp_path: Path) -> None:
    """A disc's stream is made whole, by one worker; woven fields reach across where pieces end."""
    owed = (
        "  flags: {version: v, profile: disc-sd-525-muxed}\n"
        "  woven: {version: v, profile: disc-sd-625}\n"
        "  fields: {version: v, profile: prores-mezzanine, rate: 25, scanning: top-first}\n"
    )
    speed_map = a_long_film(tmp_path, owed)
    speed_map.write_text(speed_map.read_text().replace("18 fps", "20 fps"))
    for name, more in (("whole", ()), ("pieces", SMALL)):
        (tmp_path / name).mkdir()
        done = retime("render", speed_map, "-o", tmp_path / name, *more)
        assert 0 == done.code, done.messages
    assert "repeat flags show it for two fields or three" in done.messages

    for path in (tmp_path / "whole").iterdir():
        assert path.read_bytes() == (tmp_path / "pieces" / path.name).read_bytes(), path.name
    assert 3 == len(list((tmp_path / "pieces").iterdir()))
