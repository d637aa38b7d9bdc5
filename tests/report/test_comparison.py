"""What differs is told, nothing else is, and the same from either side."""

from __future__ import annotations

import json
import shutil
from collections import defaultdict
from fractions import Fraction
from pathlib import Path
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
from retime.report.version_speeds import speeds_apart
from retime.speedmap.lasting import Lasting

if TYPE_CHECKING:
    from collections.abc import Callable

    from randomfilms import Assembled

    from retime.plan.timeline import Timeline

DEMO = Path(__file__).parents[2] / "demo_media"

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

FOLLOWED = (
    MAP
    + """\
  fast-24:
    version: fast
    profile: ffv1-master
    rate: 24
    timecode: 10:00:00:00
    head: [{still: slate.png, for: 5 s}, {black: 2 s}]
    tail: {black: 1 s}
    sound:
      - {file: score.flac, follows: slow-24, gain: -3 dB}
      - {file: score.flac, follows: 18 fps, language: eng}
      - {file: waves.wav, offset: 40 ms}
    subtitles: {file: en.srt, follows: slow-24}
    chapters: [{at: 1/1, name: The lamp}, {at: 2, frame: 50, name: The night}]
"""
)

PUT_IN = MAP.replace(
    "    speed: 24 fps\n",
    """\
    speed: 24 fps
    titles: {at least: 4 s, loop: 12}
    insert:
      - {after: 1/1, still: slate.png, for: 5 s, kind: title, name: what is lost}
      - {after: 1/1, still: bridge.png, for: 4 s}
      - {after: what is lost, black: 1 s}
      - {before: 1/1, scan: r1.mkv, first: 90, last: 140, speed: 18 fps}
      - {before: 1/3, scan: print.mkv, first: 5, last: 9}
      - {after: 1/3, play: 2/1}
    replace: {2/1: bridge.png}
""",
)

Told = dict[str, Any]


def pictures(folder: Path) -> None:
    """Put what maps show beside the film into a folder, and a scan that is none of the film's."""
    for name, file in (("slate.png",) * 2, ("bridge.png",) * 2, ("print.mkv", "logo.mkv")):
        if not (folder / name).exists():
            shutil.copy(DEMO / file, folder / name)


@pytest.fixture
def told(tmp_path: Path) -> Callable[..., Told]:
    """Return how two maps, or two versions, are told to differ."""

    def values(left: str, right: str, versions: tuple[str, str] | None = None) -> Told:
        editions = []
        pictures(tmp_path)
        for name, text in (("left", left), ("right", right)):
            (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
            editions.append(join(tmp_path / f"{name}.yaml", every_version=True))
        one, other = editions
        found = comparison_values(one, other, compared(one, other, versions))
        return json.loads(json.dumps(found))  # type: ignore[no-any-return]

    return values


def frame(reel: str, shot: str, number: int) -> Told:
    """Return how a film frame is told at which versions part."""
    spot = {"reel": reel, "shot": shot, "frame": number}
    return spot | {"shows": "film", "picture": None, "name": None}


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
    assert frame("1", "2", 110) == pair["parts"]["left"]
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
    assert frame("1", "2", 119) == pair["parts"]["left"]
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
    assert frame("2", "1", 0) == pair["parts"]["left"]


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
    (
        "at least: 2 s}",
        "at least: 4 s}\n    insert: {after: 1, scan: r1.mkv, first: 3, last: 80, speed: 18}",
    ),
    (
        "at least: 2 s}",
        "at least: 4 s}\n    insert: {before: 1/1, scan: r1.mkv, first: 4, last: 80, speed: 16}",
    ),
    ("at least: 2 s}", "at least: 4 s}\n    replace: {1/2: slate.png}"),
    ("rate: 24}", "rate: 24, sound: [{file: a.wav}, {file: b.wav, gain: 3 dB}]}"),
    ("rate: 24}", "rate: 24, sound: [{file: b.wav}, {file: a.wav}], chapters: shots}"),
    ("rate: 24}", "rate: 24, head: [{black: 2 s}], chapters: [{at: 1/1, name: The lamp}]}"),
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


def lasting(timeline: Timeline) -> dict[tuple[str, int], set[Fraction | None]]:
    """Return how long each film frame lasts where it has its turn; None where it is held."""
    found: dict[tuple[str, int], set[Fraction | None]] = defaultdict(set)
    for stretch in timeline.stretches:
        if not stretch.fresh:
            continue
        reel = timeline.reels[timeline.units[stretch.unit].reel].name
        for slot in range(stretch.count):
            lasts = stretch.pace.elapsed(slot + 1) - stretch.pace.elapsed(slot)
            found[reel, stretch.first + slot].add(None if stretch.hold else lasts)
    return found


def by_frames(runs: list[Lasting]) -> dict[tuple[str, int], set[Fraction]]:
    """Return what runs say of each frame."""
    found: dict[tuple[str, int], set[Fraction]] = defaultdict(set)
    for run in runs:
        assert run.duration is not None
        assert run.step is not None
        for frame in range(run.first, run.last + 1):
            found[run.reel, frame].add(run.duration + run.step * (frame - run.first))
    return found


@given(assemblies())
@settings(max_examples=60, deadline=None)
def test_runs_of_film_hold_every_frame_that_plays_and_as_long_as_it_lasts(film: Assembled) -> None:
    timeline = assemble(film.items, film.holes)
    found, lasts = by_frames(film_runs(timeline, {})), lasting(timeline)

    assert found.keys() == lasts.keys()
    for place, times in lasts.items():
        assert times - {None} <= found[place]
        assert found[place] == times or None in times


@given(assemblies(), assemblies(), st.sampled_from(["another film", "more of it"]))
@settings(max_examples=60, deadline=None)
def test_speeds_differ_where_a_showing_on_one_side_has_none_like_it_on_the_other(
    one: Assembled, other: Assembled, differs: str
) -> None:
    items = [*one.items, *other.items] if differs == "more of it" else other.items
    sides = [film_runs(assemble(each, one.holes), {}) for each in (one.items, items)]
    ours, others = map(by_frames, sides)

    found = speeds_apart(*sides)

    told: dict[tuple[str, int], list[set[Fraction]]] = defaultdict(lambda: [set(), set()])
    for pair in found:
        for side, run in enumerate(pair):
            for place, times in by_frames([run] if run else []).items():
                told[place][side] |= times
    places = ours.keys() | others.keys()
    apart = {at for at in places if ours.get(at) != others.get(at)}
    assert apart <= told.keys()
    # A ramp is told whole, by its two ends, although one frame of it may last as long as there.
    for pair in found:
        runs = [run for run in pair if run is not None]
        alike = {(runs[0].reel, at) for at in range(runs[0].first, runs[0].last + 1)} - apart
        assert len(alike) <= len({run.step for run in runs}) - 1
    for place, (left, right) in told.items():
        mine, theirs = ours.get(place, set()), others.get(place, set())
        assert mine - theirs <= left <= mine
        assert theirs - mine <= right <= theirs
        assert bool(left) == bool(mine)
        assert bool(right) == bool(theirs)


def steady(first: int, last: int, fps: int) -> Lasting:
    return Lasting(reel="1", first=first, last=last, duration=Fraction(1, fps), step=Fraction(0))


def test_a_showing_more_at_a_speed_of_its_own_is_told_beside_that_of_the_other_side() -> None:
    """A score may give a shot that plays twice two speeds."""
    once = [steady(0, 9, 20), steady(10, 19, 20)]
    twice = [*once, steady(5, 9, 18), steady(10, 14, 20)]

    assert ((steady(5, 9, 20), steady(5, 9, 18)),) == speeds_apart(once, twice)
    assert ((steady(5, 9, 18), steady(5, 9, 20)),) == speeds_apart(twice, once)
    assert () == speeds_apart(once, [*once, steady(5, 14, 20)])


def assembly_rows(pair: Told) -> list[list[str | None]]:
    names = ("what", "item", "key", "left", "right")
    return [[row[name] for name in names] for row in pair["assembly"]]


def test_frames_put_in_from_a_reels_own_scan_hide_no_speed_of_its_shots(
    told: Callable[..., Told],
) -> None:
    (pair,) = told(PUT_IN, PUT_IN.replace("speed: 24 fps", "speed: 22 fps"))["versions"]

    assert [
        {"reel": "1", "first": 10, "last": 209, "left": "24", "right": "22"},
    ] == pair["speeds"]  # 2/1 has a picture in its place, there and where it plays again
    # what is put in without a speed takes that of the film about it
    assert [["insert", "before 1/3", "speed", "24 fps", "22 fps"]] == assembly_rows(pair)


ONLY_THE_ASSEMBLY = [
    (
        ("first: 90, last: 140", "first: 91, last: 141"),
        [["insert", "before 1/1", "frames", "90-140", "91-141"]],
    ),
    (
        ("last: 140, speed: 18", "last: 140, speed: 16"),
        [["insert", "before 1/1", "speed", "18 fps", "16 fps"]],
    ),
    (
        ("still: slate.png", "still: bridge.png"),
        [["insert", "what is lost", "shows", "still slate.png", "still bridge.png"]],
    ),
    (
        ("name: what is lost}", "name: the reef}"),
        [["insert", "after 1/1", "name", "what is lost", "the reef"]],
    ),
    (("for: 5 s, kind", "for: 6 s, kind"), [["insert", "what is lost", "for", "5 s", "6 s"]]),
    (("kind: title, name: w", "name: w"), [["insert", "what is lost", "kind", "title", "action"]]),
    (
        ("{before: 1/3, scan", "{after: 1/3, scan"),
        [["insert", "scan print.mkv", "stands", "before 1/3", "after 1/3"]],
    ),
    (("play: 2/1", "play: 1/2"), [["insert", "after 1/3", "shows", "play 2/1", "play 1/2"]]),
    (
        ("      - {after: what is lost, black: 1 s}\n", ""),
        [["insert", "after what is lost", None, "black for 1 s, after what is lost", None]],
    ),
    (
        ("{2/1: bridge.png}", "{2/1: {still: slate.png, for: 2 s}}"),
        [
            ["replace", "2/1", "for", None, "2 s"],
            ["replace", "2/1", "still", "bridge.png", "slate.png"],
        ],
    ),
    (
        ("    replace: {", "    order: [1/2-1/3, 1/1, 2]\n    replace: {"),
        [["order", None, None, "as scanned", "1/2-1/3, 1/1, 2"]],
    ),
]


@pytest.mark.parametrize(("change", "expected"), ONLY_THE_ASSEMBLY, ids=str)
def test_what_is_put_in_is_told_by_its_name_and_its_place_and_changes_no_speed(
    change: tuple[str, str], expected: list[list[str | None]], told: Callable[..., Told]
) -> None:
    other = PUT_IN.replace(*change)
    if "the reef" in other:  # what stands beside it names it too
        other = other.replace("after: what is lost", "after: the reef")
        expected = [*expected, ["insert", *STANDS_BESIDE]]
    (pair,) = told(PUT_IN, other)["versions"]

    assert expected == assembly_rows(pair)
    assert [] == pair["speeds"]


STANDS_BESIDE = ["black", "stands", "after what is lost", "after the reef"]


def test_a_loop_changes_no_speed_where_frames_of_it_are_put_in_too(
    told: Callable[..., Told],
) -> None:
    begun = PUT_IN.replace("first: 90", "first: 112")  # within the title, before its loop's end

    (pair,) = told(begun, begun.replace("loop: 12", "loop: 8"))["versions"]

    assert ([], []) == (pair["speeds"], pair["assembly"])
    assert ["loop"] == [one["what"] for one in pair["titles"]]


def test_frames_put_in_are_told_from_film_in_no_shot_of_the_same_frames(
    told: Callable[..., Told],
) -> None:
    film = MAP.replace("  - {reel: 1, first: 130, last: 209, shot: 3}\n", "").replace(
        "    speed: 24 fps\n",
        "    speed: 24 fps\n"
        "    insert: {before: 1/1, scan: r1.mkv, first: 130, last: 209, speed: 18}\n",
    )

    (pair,) = told(film, film.replace("speed: 18}", "speed: 16}"))["versions"]

    assert [] == pair["speeds"]
    assert [["insert", "before 1/1", "speed", "18 fps", "16 fps"]] == assembly_rows(pair)


def test_insets_of_one_place_differ_by_their_order_and_others_do_not(
    told: Callable[..., Told],
) -> None:
    lost, bridge, black, own = PUT_IN[PUT_IN.index("      - {after: 1/1, still: sl") :].splitlines(
        keepends=True
    )[:4]
    turned = PUT_IN.replace(lost + bridge, bridge + lost)
    same = PUT_IN.replace(black + own, own + black)

    (pair,) = told(PUT_IN, turned)["versions"]
    assert [["insert", None, "order", "what is lost, after 1/1", "after 1/1, what is lost"]] == (
        assembly_rows(pair)
    )
    assert told(PUT_IN, same)["alike"]


def test_selections_that_name_the_same_film_do_not_differ(told: Callable[..., Told]) -> None:
    plain = PUT_IN.replace("    replace: {", "    omit: [1/2, 1/3]\n    replace: {").replace(
        "{before: 1/3, scan", "{before: 2, scan"
    )
    plain = plain.replace("{after: 1/3, play", "{after: 2/1, play")
    other = (
        plain.replace("omit: [1/2, 1/3]", "order: [1, 2]\n    omit: [1/2-1/3]")
        .replace("{before: 2, scan", "{before: 2/1, scan")
        .replace("{after: 2/1, play: 2/1", "{after: 2, play: 2")
    )

    assert told(plain, other)["alike"]
    (pair,) = told(plain, plain.replace("omit: [1/2, 1/3]", "omit: [1/2]"))["versions"]
    assert [["omit", None, None, "1/2, 1/3", "1/2"]] == assembly_rows(pair)


def test_versions_part_at_a_picture_that_is_told(told: Callable[..., Told]) -> None:
    (pair,) = told(PUT_IN, PUT_IN.replace("still: slate.png", "still: bridge.png"))["versions"]

    spot = {"reel": "1", "shot": None, "frame": None, "shows": "plate", "name": "what is lost"}
    assert spot | {"picture": "slate.png"} == pair["parts"]["left"]
    assert spot | {"picture": "bridge.png"} == pair["parts"]["right"]


def test_the_german_edition_of_the_demo_differs_by_the_ten_seconds_put_in() -> None:
    edition = join(DEMO / "tidewatcher.yaml", every_version=True)

    (pair,) = compared(edition, edition, ("restrained", "german")).versions

    assert pair.runtimes is not None
    assert 10 == pair.runtimes[1] - pair.runtimes[0]
    put_in = [(one.item, one.left, one.right) for one in pair.assembly if one.what == "insert"]
    assert [
        ("what is lost", None, "still bridge-card-de.png for 6 s, after 2/2, a title"),
        ("the reef", None, "still bridge.png for 4 s, after 2/2"),
    ] == put_in


ITEMS = [
    (("gain: -3", "gain: -4"), [["sound", "score.flac", "gain", "-3 dB", "-4 dB"]]),
    (("offset: 40", "offset: 60"), [["sound", "waves.wav", "offset", "0.04 s", "0.06 s"]]),
    (("language: eng", "language: deu"), [["sound", "score.flac", "language", "eng", "deu"]]),
    (
        ("follows: 18 fps", "follows: 18 fps, pitch: kept"),
        [["sound", "score.flac", "pitch", "moves", "kept"]],
    ),
    (("waves.wav", "sea.wav"), [["sound", "3", "file", "waves.wav", "sea.wav"]]),
    (
        ("      - {file: waves.wav, offset: 40 ms}\n", ""),
        [["sound", "waves.wav", None, "waves.wav, pitch moves, offset 0.04 s", None]],
    ),
    (
        ("en.srt, follows: slow-24", "en.srt, follows: slow-24, gap: 0.1 s"),
        [["subtitles", "en.srt", "gap", None, "0.1 s"]],
    ),
    (("slate.png, for: 5", "slate.png, for: 4"), [["head", "slate.png", "for", "5 s", "4 s"]]),
    (
        ("{still: slate.png, for: 5 s}", "{still: bridge.png, for: 5 s}"),
        [
            ["head", "bridge.png", None, None, "bridge.png for 5 s"],
            ["head", "slate.png", None, "slate.png for 5 s", None],
        ],
    ),
    (
        (
            "{still: slate.png, for: 5 s}, {black: 2 s}",
            "{black: 2 s}, {still: slate.png, for: 5 s}",
        ),
        [["head", None, "order", "slate.png, black", "black, slate.png"]],
    ),
    (("tail: {black: 1 s}", "tail: {black: 3 s}"), [["tail", "black", "for", "1 s", "3 s"]]),
    (
        ("frame: 50", "frame: 60"),
        [["chapters", "The night", "at", "reel 2, frame 50", "reel 2, frame 60"]],
    ),
    (("name: The night", "name: Night"), [["chapters", "reel 2, frame 50", "name", "The night"]]),
    (
        ("[{at: 1/1, name: The lamp}, {at: 2, frame: 50, name: The night}]", "shots"),
        [["chapters", None, None, "The lamp, The night", "shots"]],
    ),
]


@pytest.mark.parametrize(("change", "expected"), ITEMS, ids=str)
def test_what_a_deliverable_has_several_of_is_told_one_by_one(
    change: tuple[str, str], expected: list[list[str | None]], told: Callable[..., Told]
) -> None:
    found = told(FOLLOWED, FOLLOWED.replace(*change))

    names = ("what", "item", "key", "left", "right")
    rows = [
        [row[name] for name in names]
        for row in found["deliverables"]
        if row["what"] not in {"output frames", "runtime"}
    ]
    assert expected == [row[: len(expected[0])] for row in rows]
    assert not found["alike"]


def test_marks_may_be_written_in_any_order(told: Callable[..., Told]) -> None:
    one, other = "{at: 1/1, name: The lamp}", "{at: 2, frame: 50, name: The night}"

    assert told(FOLLOWED, FOLLOWED.replace(f"{one}, {other}", f"{other}, {one}"))["alike"]


ADDRESSES = ("r1.mkv", "r2.mkv", "print.mkv", "slate.png", "bridge.png", "score.flac", "en.srt")


def two_folders(tmp_path: Path, *, below: bool) -> tuple[Path, Path]:
    """Write a map twice: where its files lie, and in another folder, by other addresses."""
    text = PUT_IN + FOLLOWED[len(MAP) :]
    home, away = tmp_path / "film", tmp_path / "notes"
    for folder in (home, away):
        folder.mkdir()
    pictures(home)
    (home / "map.yaml").write_text(text, encoding="utf-8")
    for name in ADDRESSES if below else ():
        text = text.replace(name, f"../film/{name}")
    (away / "map.yaml").write_text(text, encoding="utf-8")
    return home, away


def alike(home: Path, away: Path) -> tuple[bool, bool]:
    """Say whether two maps are alike, either way round."""
    one, other = (join(folder / "map.yaml", every_version=True) for folder in (home, away))
    return compared(one, other).alike, compared(other, one).alike


def test_one_file_told_from_two_folders_is_one(tmp_path: Path) -> None:
    home, away = two_folders(tmp_path, below=True)

    assert (True, True) == alike(home, away)


def test_copies_of_what_both_maps_write_are_one_until_they_are_seen_to_differ(
    tmp_path: Path,
) -> None:
    home, away = two_folders(tmp_path, below=False)
    pictures(away)
    (home / "score.flac").write_bytes(b"sound")

    assert (True, True) == alike(home, away)  # a copy of the map, whose sound is away

    (away / "score.flac").write_bytes(b"other sound")
    one, other = (join(folder / "map.yaml", every_version=True) for folder in (home, away))
    rows = compared(one, other).deliverables

    assert [("sound", "score.flac", "file")] * 2 == [(row.what, row.item, row.key) for row in rows]
    assert {(str(home / "score.flac"), str(away / "score.flac"))} == {
        (row.left, row.right) for row in rows
    }
