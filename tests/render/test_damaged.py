"""A frame that does not decode stops a render, or has something in its place and is told."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import av
import jsonschema
import pytest
from hurt import FRAMES, HELD, HURT, a_hurt_film, hurt_files, runs_showing
from numbered import SIZE, read_movie, write_scan
from rendering import listed, retime, write_map

from retime.edition.damage_file import damage_schema
from retime.render import pieced

if TYPE_CHECKING:
    from pathlib import Path

WAYS = {
    "in one": (),
    "in pieces": ("--pieces", "9", "--workers", "1"),
    "begun anew at it": ("--pieces", "6", "--workers", "1"),
}
BLACK = "black"
OWED = "  x: {version: v, profile: ffv1-master, rate: 24, head: {black: 0.2 s}}"


@pytest.fixture(params=["1.mkv", "r1/%04d.tif"])
def film(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Return a map of a scan of which some frames are damaged."""
    return a_hurt_film(tmp_path, str(request.param), OWED)


@pytest.fixture
def movie(tmp_path: Path) -> Path:
    """Return a map of such a movie."""
    return a_hurt_film(tmp_path, "1.mkv", OWED)


def rendered(film: Path, *more: object) -> list[str]:
    """Render, and return the messages."""
    ran = retime("render", film, "-o", film.parent / "out", *more)
    assert 0 == ran.code, ran.messages
    return ran.messages.splitlines()


def the_list(film: Path, name: str = "Numbers-x.mkv") -> dict[str, Any]:
    """Return the list beside a deliverable."""
    told = json.loads((film.parent / "out" / f"{name}.damage.json").read_text(encoding="utf-8"))
    jsonschema.validate(told, damage_schema())
    assert isinstance(told, dict)
    return told


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("means", ["hold", "black"])
def test_something_stands_in_the_place_of_damaged_frames_and_each_is_told_and_listed(
    means: str, way: str, film: Path
) -> None:
    messages = rendered(film, "--damaged", means, *WAYS[way])

    told = [line for line in messages if "is damaged" in line]
    assert len(HURT) == len(told)
    for frame, line in zip(HURT, told, strict=True):
        assert f": frame {frame} is damaged (" in line
        shown = f"frame {HELD[frame]} is held" if means == "hold" else "black is shown"
        assert line.endswith(f": {shown}")
    assert _wanted(film, means) == _seen(film.parent / "out" / "Numbers-x.mkv")

    entries = the_list(film)["damaged"]
    assert list(HURT) == [one["frame"] for one in entries] == [one["scan_frame"] for one in entries]
    for one in entries:
        assert ("held" if means == "hold" else "black") == one["shows"]
        assert one.get("held") == (HELD[one["frame"]] if means == "hold" else None)
        assert one["scan"].endswith(("1.mkv", f"r1/{one['frame']:04}.tif"))
        outputs = [(run["first"], run["last"]) for run in one["outputs"]]
        assert runs_showing(film, "x", one["frame"]) == outputs


def _wanted(film: Path, means: str) -> list[int | str]:
    """Return the number of what every output frame is to show, or black."""
    stands = HELD if means == "hold" else dict.fromkeys(HURT, BLACK)
    frames = [int(row["frame"]) if row["frame"] else None for row in listed(film, "x")]
    return [BLACK if one is None else stands.get(one, one) for one in frames]


def _seen(path: Path) -> list[int | str | None]:
    with av.open(str(path)) as container:
        darkest = [
            int(frame.to_ndarray(format="gray").max()) < 20 for frame in container.decode(video=0)
        ]
    return [
        BLACK if dark else number for number, dark in zip(read_movie(path), darkest, strict=True)
    ]


def test_the_list_is_the_same_for_any_number_of_workers(movie: Path) -> None:
    lists = []
    for more in ((), ("--pieces", "9", "--workers", "2")):
        rendered(movie, "--damaged", "hold", "--force", *more)
        lists.append(the_list(movie))

    assert lists[0] == lists[1]


def test_a_list_says_of_which_file_it_is_and_is_told_with_it(movie: Path) -> None:
    out = movie.parent / "out"
    ran = retime("render", movie, "-o", out, "--damaged", "black")

    told = the_list(movie)
    assert ("Numbers", "v", "x") == (told["film"], told["version"], told["deliverable"])
    assert "Numbers-x.mkv" == told["file"]
    names = [out / "Numbers-x.mkv.damage.json", out / "Numbers-x.mkv"]
    assert list(map(str, names)) == ran.result.splitlines()
    assert sorted(names) == sorted(out.iterdir())


def test_the_list_of_a_part_counts_from_its_first_output_frame(movie: Path) -> None:
    """Its labels are those of the whole; what the part does not show is in no list of it."""
    rows = listed(movie, "x")
    begin = next(int(row["output"]) for row in rows if row["frame"] == "10")
    rendered(movie, "--damaged", "hold", "--from", rows[begin]["timecode"])

    (path,) = (movie.parent / "out").glob("*.damage.json")
    told = json.loads(path.read_text())["damaged"]
    assert [18, 19, 20] == [one["frame"] for one in told]
    for one in told:
        runs = [(run["first"], run["last"]) for run in one["outputs"]]
        assert runs_showing(movie, "x", one["frame"], begin) == runs
        first = one["outputs"][0]
        assert rows[begin + first["first"]]["timecode"] == first["timecode"]


def test_a_deliverable_that_shows_no_damaged_frame_has_no_list(tmp_path: Path) -> None:
    """Every shot of the one version is cut but for the first, which is sound."""
    shots = "  - {reel: 1, first: 0, last: 5, shot: 1}\n  - {reel: 1, first: 6, last: 39, shot: 2}"
    film = a_hurt_film(tmp_path, "1.mkv", OWED, shots)
    film.write_text(
        film.read_text().replace("  v: {speed: 18 fps}", "  v: {speed: 18 fps, omit: [1/2]}")
    )
    rendered(film, "--damaged", "hold", "--pieces", "100")

    assert ["Numbers-x.mkv"] == [one.name for one in (film.parent / "out").iterdir()]


@pytest.mark.parametrize("way", [(), WAYS["in pieces"]])
def test_a_list_is_overwritten_only_if_that_is_asked_for(way: tuple[str, ...], movie: Path) -> None:
    """One of what was there before goes with it, where the new file has nothing to be listed."""
    out = movie.parent / "out"
    stale = out / "Numbers-x.mkv.damage.json"
    stale.write_text("of another render")
    refused = retime("render", movie, "-o", out, "--damaged", "hold", *way)
    assert 2 == refused.code
    assert f"{stale}: exists already; use --force to overwrite it" in refused.messages
    assert [stale] == list(out.iterdir())

    rendered(movie, "--damaged", "hold", "--force", *way)
    assert 4 == len(the_list(movie)["damaged"])
    write_scan(movie.parent / "1.mkv", FRAMES, "ffv1", "gray")
    rendered(movie, "--damaged", "hold", "--force", *way)
    assert [out / "Numbers-x.mkv"] == list(out.iterdir())


@pytest.mark.parametrize("broken_off", ["complete", "name_all"])
def test_a_render_that_is_gone_on_with_has_the_list_of_what_was_made_before(
    broken_off: str, movie: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Broken off when all pieces are made, or when all is written and nothing has its name."""
    out, way = movie.parent / "out", ("--damaged", "hold", *WAYS["in pieces"])

    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(pieced, broken_off, interrupt)
        assert 130 == retime("render", movie, "-o", out, *way).code
    assert not [one for one in out.iterdir() if one.name[0] != "."]

    messages = rendered(movie, *way)
    assert any("pieces are there already" in line for line in messages)
    assert len(HURT) == sum("is damaged" in line for line in messages)
    gone_on = the_list(movie)
    rendered(movie, "--force", *way)
    assert the_list(movie) == gone_on
    assert 2 == len(list(out.iterdir()))


def test_an_empty_file_of_a_sequence_is_a_damaged_frame(tmp_path: Path) -> None:
    film = a_hurt_film(tmp_path, "r1/%04d.tif", OWED)
    hurt_files(tmp_path / "r1" / "%04d.tif", [30], 0)
    rendered(film, "--damaged", "hold")

    last = the_list(film)["damaged"][-1]
    assert (30, 29, "the file is empty") == (last["frame"], last["held"], last["wrong"])


@pytest.mark.parametrize("way", WAYS)
def test_unless_something_else_is_said_a_damaged_frame_stops_the_render(
    way: str, film: Path
) -> None:
    ran = retime("render", film, "-o", film.parent / "out", *WAYS[way])

    assert 2 == ran.code
    assert "frame 7 is damaged" in ran.messages
    assert [] == [one for one in (film.parent / "out").iterdir() if one.name[0] != "."]


def test_a_copy_takes_no_damaged_frame_whatever_is_said(film: Path) -> None:
    """There is nothing to show in its place: a copy has only what the scan has."""
    film.write_text(
        film.read_text().replace("ffv1-master", "as-scanned").replace(", head: {black: 0.2 s}", "")
    )
    ran = retime("render", film, "-o", film.parent / "out", "--damaged", "hold")

    assert 2 == ran.code
    assert "frame 7 is damaged" in ran.messages


def test_what_is_no_damage_of_one_frame_stops_the_render_whatever_is_said(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "1.mkv", FRAMES, "libx264", "yuv420p", {"g": "12"}, SIZE)
    data = bytearray(path.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 300] = bytes(300)
    path.write_bytes(data)
    owed = "  x: {version: v, profile: ffv1-master, rate: 24}"
    reels = f"  - {{reel: 1, scan: 1.mkv, frames: {FRAMES}}}"
    (tmp_path / "out").mkdir()
    speed_map = write_map(tmp_path, reels, owed)
    ran = retime("render", speed_map, "-o", tmp_path / "out", "--damaged", "black")

    assert 2 == ran.code
    assert "1.mkv: is damaged near frame" in ran.messages or "ends after" in ran.messages
