"""What differs is told, nothing else is, and the same from either side."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from randomfilms import assemblies

from retime.edition.join import join
from retime.plan.assembly import assemble
from retime.report.comparison import compared
from retime.report.comparison_schema import comparison_schema
from retime.report.comparison_values import comparison_values
from retime.report.film_runs import film_runs
from retime.report.version_parting import parting_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from randomfilms import Assembled

    from retime.plan.timeline import Timeline

MAP = """\
format: retime-map/1
film: The Tidewatcher's Lamp
gauge: 35mm
reels:
  - {reel: 1, scan: r1.mkv, first: 10, last: 209, frames: 220}
  - {reel: 2, scan: r2.mkv, frames: 100}
shots:
  - {reel: 1, first: 10, last: 109, shot: 1}
  - {reel: 1, first: 110, last: 129, shot: 2, kind: title, name: The sea}
  - {reel: 1, first: 130, last: 209, shot: 3}
  - {reel: 2, first: 0, last: 99, shot: 1}
versions:
  slow:
    speed: 20 fps
    titles: {at least: 2 s}
  fast:
    speed: 24 fps
deliverables:
  slow-24: {version: slow, profile: ffv1-master, rate: 24}
"""

Told = dict[str, Any]


@pytest.fixture
def told(tmp_path: Path) -> Callable[..., Told]:
    """Return how two maps, or two versions, are told to differ."""

    def values(left: str, right: str, versions: tuple[str, str] | None = None) -> Told:
        editions = []
        for name, text in (("left", left), ("right", right)):
            (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
            editions.append(join(tmp_path / f"{name}.yaml", every_version=True))
        one, other = editions
        found = comparison_values(one, other, compared(one, other, versions))
        return json.loads(json.dumps(found))  # type: ignore[no-any-return]

    return values


LISTS = ("film", "reels", "shots", "versions", "deliverables")


def test_a_map_does_not_differ_from_itself(told: Callable[..., Told]) -> None:
    found = told(MAP, MAP)

    assert found["alike"]
    assert [[]] * 5 == [found[name] for name in LISTS]


def test_what_is_written_otherwise_and_means_the_same_does_not_differ(
    told: Callable[..., Told],
) -> None:
    """75 feet of 35 mm a minute are 20 frames a second: EIDR knowledge base, Durations."""
    other = MAP.replace("speed: 20 fps", "speed: 75 ft/min").replace(
        "  fast:\n    speed: 24 fps\n",
        "  fast: {like: slow, speed: 24, titles: {at least: 0.1 s}}\n",
    )

    assert not told(MAP, MAP.replace("speed: 20 fps", "speed: 76 ft/min"))["alike"]
    assert ["titles: at least"] == [
        f"{one['of']}: {one['what']}"
        for pair in told(MAP, other)["versions"]
        for one in pair["titles"]
    ]


FOUND = [
    # what is written instead, in which list it is told, and as what
    (("film: The T", "film: A T"), "film", ["film", "film", "The Tidewatcher's Lamp"]),
    (("gauge: 35mm", "gauge: 16mm"), "film", ["film", "gauge", "35mm", "16mm"]),
    (("r2.mkv", "new.mkv"), "reels", ["2", "scan", "r2.mkv", "new.mkv"]),
    (("frames: 100}", "frames: 101}"), "reels", ["2", "last", "99", "100"]),
    (("shot: 3}", "shot: 3B}"), "shots", ["1/3", "there", "frames 130 to 209", None]),
    (("last: 109, ", "last: 100, "), "shots", ["1/1", "last", "109", "100"]),
    ((", kind: title", ""), "shots", ["1/2", "kind", "title", "action"]),
    ((", name: The sea", ""), "shots", ["1/2", "name", "The sea", None]),
    (("rate: 24}", "rate: 25}"), "deliverables", ["slow-24", "rate", "24", "25"]),
    (("rate: 24}", "rate: 24, phase: per-shot}"), "deliverables", ["slow-24", "phase"]),
    (("slow-24:", "slow-film:"), "deliverables", ["slow-24", "there", "version slow", None]),
]


@pytest.mark.parametrize(("change", "where", "expected"), FOUND, ids=str)
def test_a_difference_is_told_where_it_belongs(
    change: tuple[str, str], where: str, expected: list[str | None], told: Callable[..., Told]
) -> None:
    found = told(MAP, MAP.replace(*change))

    rows = [[one["of"], one["what"], one["left"], one["right"]] for one in found[where]]
    assert expected in [row[: len(expected)] for row in rows]
    assert not found["alike"]


def test_speeds_differ_by_runs_of_frames_as_long_as_they_go_on(told: Callable[..., Told]) -> None:
    found = told(
        MAP, MAP.replace("    speed: 24 fps", "    speed: 24 fps\n    shots: {1/2-2/1: 23}")
    )

    (pair,) = found["versions"]
    assert [
        {"reel": "1", "first": 110, "last": 209, "left": "24", "right": "23"},
        {"reel": "2", "first": 0, "last": 99, "left": "24", "right": "23"},
    ] == pair["speeds"]
    # 100 frames at 24 go before: 25/6 s
    assert {"seconds": "25/6", "text": "0:00:04.167"} == pair["parts"]["at"]
    assert {"reel": "1", "shot": "2", "frame": 110} == pair["parts"]["left"]
    assert pair["runtime"]["left"]["seconds"] == str(Fraction(300, 24))
    assert pair["runtime"]["right"]["seconds"] == str(Fraction(100, 24) + Fraction(200, 23))


def test_a_ramp_is_told_by_its_two_ends(told: Callable[..., Told]) -> None:
    found = told(MAP, MAP.replace("speed: 24 fps", "speed: 24 fps -> 20 fps"))

    (first, second) = found["versions"][0]["speeds"]
    assert first["left"] == second["left"] == "24"
    assert (first["right"]["from"], second["right"]["to"]) == ("24", "20")
    assert (first["first"], first["last"]) == (10, 209)


def test_versions_part_where_a_title_is_held_longer(told: Callable[..., Told]) -> None:
    (pair,) = told(MAP, MAP.replace("at least: 2 s", "at least: 3 s"))["versions"]

    # frame floor((110 + 129) / 2) is held; 109 frames at 20 go before it
    assert {"reel": "1", "shot": "2", "frame": 119} == pair["parts"]["left"]
    assert str(Fraction(109, 20)) == pair["parts"]["at"]["seconds"]
    assert [("1/2", "2", "3")] == [
        (one["shot"], one["left"]["seconds"], one["right"]["seconds"]) for one in pair["cards"]
    ]
    assert [] == pair["speeds"]


def test_what_one_side_leaves_out_does_not_play_there(told: Callable[..., Told]) -> None:
    (pair,) = told(MAP, MAP.replace("    speed: 24 fps", "    speed: 24 fps\n    omit: [2]"))[
        "versions"
    ]

    assert [{"reel": "2", "first": 0, "last": 99, "left": "24", "right": None}] == pair["speeds"]
    assert pair["parts"]["right"] is None
    assert {"reel": "2", "shot": "1", "frame": 0} == pair["parts"]["left"]


def test_a_version_of_one_side_is_told_as_such(told: Callable[..., Told]) -> None:
    found = told(MAP, MAP.replace("  fast:", "  quick:"))["versions"]

    assert [("fast", None), (None, "quick")] == [(one["left"], one["right"]) for one in found]


def test_two_versions_of_one_map_are_compared(told: Callable[..., Told]) -> None:
    found = told(MAP, MAP, ("slow", "fast"))

    assert [("slow", "fast")] == [(one["left"], one["right"]) for one in found["versions"]]
    assert [] == found["deliverables"]
    assert told(MAP, MAP, ("slow", "slow"))["alike"]


CHANGES = [change for change, _, _ in FOUND] + [
    ("speed: 20 fps", "speed: 20 fps -> 24 fps"),
    ("speed: 24 fps", "runtime: 0:20"),
    ("at least: 2 s", "at least: 3 s"),
    ("speed: 24 fps", "speed: 24 fps\n    omit: [2]\n    insert: {after: 1/1, black: 1 s}"),
    ("speed: 24 fps", "speed: 24 fps\n    order: [2, 1]"),
    ("  fast:", "  quick:"),
]


def exchanged(value: Any) -> Any:
    """Return what is told with its sides exchanged."""
    if isinstance(value, dict):
        names = {"left": "right", "right": "left"}
        return {names.get(key, key): exchanged(one) for key, one in value.items()}
    return [exchanged(one) for one in value] if isinstance(value, list) else value


def _name(pair: Told) -> str:
    return str(pair["left"] or pair["right"])


def sorted_pairs(found: Told) -> Told:
    return found | {"versions": sorted(found["versions"], key=_name)}


@given(
    st.lists(st.sampled_from(CHANGES), max_size=3, unique=True),
    st.lists(st.sampled_from(CHANGES), max_size=3, unique=True),
)
@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_with_its_sides_exchanged_a_comparison_says_the_same(
    told: Callable[..., Told], ours: list[tuple[str, str]], others: list[tuple[str, str]]
) -> None:
    left = right = MAP
    for change in sorted(ours, key=CHANGES.index):
        left = left.replace(*change)
    for change in sorted(others, key=CHANGES.index):
        right = right.replace(*change)

    forth, back = told(left, right), told(right, left)

    jsonschema.validate(forth, comparison_schema())
    for found in (forth, back):  # the maps go by the side they were written to
        for side in ("left", "right"):
            del found[side]
    assert sorted_pairs(forth) == sorted_pairs(exchanged(back))
    assert forth["alike"] == (left == right)


def seen(timeline: Timeline) -> list[tuple[Any, ...]]:
    """Return what a version shows, slot by slot, and for how long: from the definitions."""
    slots: list[tuple[Any, ...]] = []
    for stretch in timeline.stretches:
        reel = timeline.reels[timeline.units[stretch.unit].reel].name
        for slot in range(stretch.count):
            lasts = stretch.pace.elapsed(slot + 1) - stretch.pace.elapsed(slot)
            frame = stretch.frame(slot)
            place = None if frame is None else reel
            slots.append((stretch.shows, place, frame, stretch.plate, lasts))
    return slots


@given(assemblies(), assemblies(), st.sampled_from(["another film", "one end"]))
@settings(max_examples=60, deadline=None)
def test_versions_part_at_the_first_slot_that_differs(
    one: Assembled, other: Assembled, differs: str
) -> None:
    left = assemble(one.items, one.holes)
    if differs == "one end":
        right = assemble([*one.items[:-1], *other.items[:1]], one.holes)
    else:
        right = assemble(other.items, other.holes)
    ours, others = seen(left), seen(right)
    together = 0
    while together < min(len(ours), len(others)) and ours[together] == others[together]:
        together += 1

    parts = parting_of(left, right)

    if ours == others:
        assert parts is None
        return
    assert parts is not None
    assert parts.seconds == sum((slot[-1] for slot in ours[:together]), Fraction(0))
    assert (parts.left is None) == (together == len(ours))
    assert (parts.right is None) == (together == len(others))
    assert parts.left is None or parts.left.frame == ours[together][2]


@given(assemblies())
@settings(max_examples=60, deadline=None)
def test_runs_of_film_hold_every_frame_that_plays_once_and_as_long_as_it_lasts(
    film: Assembled,
) -> None:
    timeline = assemble(film.items, film.holes)
    lasting: dict[tuple[str, int], set[Fraction]] = {}
    for unit in timeline.units:
        for stretch in timeline.stretches[slice(*unit.stretches)]:
            if not stretch.fresh:
                continue
            for slot in range(stretch.count):
                place = (timeline.reels[unit.reel].name, stretch.first + slot)
                lasts = stretch.pace.elapsed(slot + 1) - stretch.pace.elapsed(slot)
                lasting.setdefault(place, set()).add(Fraction(0) if stretch.hold else lasts)

    runs = film_runs(timeline, {})

    told = {}
    for run in runs:
        assert run.duration is not None
        assert run.step is not None
        for frame in range(run.first, run.last + 1):
            assert (run.reel, frame) not in told
            told[run.reel, frame] = run.duration + run.step * (frame - run.first)
    assert told.keys() == lasting.keys()
    for place, times in lasting.items():  # random films may play a frame twice at two speeds
        assert told[place] in times or times == {0} or len(times) > 1
