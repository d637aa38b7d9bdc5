"""What plays, and in which order, is what plain list operations make of the assembly's rules."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from naive import rows

from retime.errors import DocumentError
from retime.film.notation import SpokenSpeed, parse_pace
from retime.film.speed import Speed
from retime.plan.assembly import assemble, solved_duration
from retime.speedmap.arrangement import Arrangement, Inserted, arrange
from retime.speedmap.assembly import Plate
from retime.speedmap.decisions import Free, Segment, Steady, governing
from retime.speedmap.model import ShotKind
from retime.speedmap.reading import read

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from retime.plan.timeline import Timeline
    from retime.speedmap.arrangement import Item

PATH = Path("map.yaml")


class RefusedError(Exception):
    """The rules allow no such assembly."""


@dataclass(frozen=True)
class Piece:
    """A shot, or frames in no shot, which have no name."""

    reel: str
    first: int
    last: int
    shot: str | None

    @property
    def key(self) -> str:
        """The shot's full name."""
        return f"{self.reel}/{self.shot}"


@dataclass(frozen=True)
class Choice:
    """What a text selects: the numbers of pieces."""

    text: str
    numbers: Sequence[int]


Content: TypeAlias = dict[str, str | int | Choice]
"""What an inset shows, by the keys of the map."""


@dataclass(frozen=True)
class Put:
    """One entry of ``insert``."""

    side: str
    beside: Choice | str
    content: Content
    name: str | None = None

    def __str__(self) -> str:
        """Return the entry as a map writes it."""
        beside = self.beside.text if isinstance(self.beside, Choice) else self.beside
        pairs = {self.side: beside, "name": self.name, **self.content}
        told = {
            key: one.text if isinstance(one, Choice) else one
            for key, one in pairs.items()
            if one is not None
        }
        return "{" + ", ".join(f"{key}: {one}" for key, one in told.items()) + "}"


@dataclass(frozen=True)
class Section:
    """What a film or a version is put together from, ``replace`` by numbers of pieces."""

    order: Sequence[Choice] | None = None
    omit: Sequence[Choice] = ()
    insert: Sequence[Put] = ()
    replace: Mapping[int, tuple[str, int | None]] = field(default_factory=dict)

    def lines(self, pieces: Sequence[Piece]) -> list[str]:
        """Return the section as a map writes it."""
        lines = []
        if self.order is not None:
            lines.append(f"order: [{', '.join(one.text for one in self.order)}]")
        if self.omit:
            lines.append(f"omit: [{', '.join(one.text for one in self.omit)}]")
        if self.insert:
            lines += ["insert:", *(f"  - {one}" for one in self.insert)]
        if self.replace:
            lines.append("replace:")
        for number, (still, seconds) in self.replace.items():
            shown = still if seconds is None else f"{{still: {still}, for: {seconds} s}}"
            lines.append(f"  {pieces[number].key}: {shown}")
        return lines


@dataclass(frozen=True)
class Film:
    """A film's pieces in the order of its scans, its version's speed rules, and two sections."""

    pieces: Sequence[Piece]
    speeds: Sequence[str]
    film: Section = Section()
    version: Section = Section()

    @property
    def reels(self) -> list[str]:
        """The names of the reels."""
        return list(dict.fromkeys(piece.reel for piece in self.pieces))

    def text(self) -> str:
        """Return the whole map."""
        lines = ["format: retime-map/1", "film: The Weighbridge", "gauge: 35mm", "reels:"]
        for reel in self.reels:
            inside = [piece for piece in self.pieces if piece.reel == reel]
            span = f"first: {inside[0].first}, last: {inside[-1].last}"
            lines.append(f"  - {{reel: {reel}, scan: {reel}.mkv, {span}}}")
        lines.append("shots:")
        lines += [
            f"  - {{reel: {one.reel}, first: {one.first}, last: {one.last}, shot: {one.shot}}}"
            for one in self.pieces
            if one.shot
        ]
        lines += self.film.lines(self.pieces)
        lines += ["versions:", "  plain:", *(f"    {line}" for line in self.speeds)]
        lines += [f"    {line}" for line in self.version.lines(self.pieces)]
        return "\n".join(lines) + "\n"

    def arranged(self) -> Arrangement:
        """Return what the code under test makes of it."""
        speed_map = read(self.text(), PATH)
        return arrange(speed_map, speed_map.versions["plain"])

    def as_scanned(self) -> tuple[Segment, ...]:
        """Return the film's segments with nothing assembled: their speeds are their own."""
        speed_map = read(self.text(), PATH)
        return governing(speed_map, speed_map.versions["plain"])


# The rules once more, by plain lists.


@dataclass(eq=False)
class Place:
    """What stands in one place, and what was put before and after it, in the order written."""

    shows: Sequence[Item]
    reel: str
    number: int | None = None
    before: dict[int, Place] = field(default_factory=dict)
    after: dict[int, Place] = field(default_factory=dict)

    def all(self, omitted: set[int]) -> list[Item]:
        """Return what plays in this place."""
        shows = [] if self.number in omitted else self.shows
        before = [item for _, one in sorted(self.before.items()) for item in one.all(omitted)]
        after = [item for _, one in sorted(self.after.items()) for item in one.all(omitted)]
        return [*before, *shows, *after]


def merged(film: Section, version: Section) -> Section:
    return Section(
        order=film.order if version.order is None else version.order,
        omit=[*film.omit, *version.omit],
        insert=[*film.insert, *version.insert],
        replace={**film.replace, **version.replace},
    )


def plainly_arranged(film: Film) -> tuple[list[Item], list[Segment]]:
    """Return what plays, in order, and what the order has forgotten."""
    section = merged(film.film, film.version)
    segments = [
        put_in_place(segment, section.replace.get(number))
        for number, segment in enumerate(film.as_scanned())
    ]
    numbers = list(range(len(segments)))
    if section.order is not None:
        numbers = [number for one in section.order for number in one.numbers]
    places = [Place([segments[n]], segments[n].reel, n) for n in numbers]
    hang(film, segments, section.insert, places)
    omitted = {number for one in section.omit for number in one.numbers}
    items = [item for place in places for item in place.all(omitted)]
    if not items:
        raise RefusedError("nothing plays")
    played = [put.content["play"] for put in section.insert if "play" in put.content]
    named = {*numbers, *omitted, *(n for one in played for n in chosen(one).numbers)}
    return items, [one for number, one in enumerate(segments) if number not in named]


def chosen(content: object) -> Choice:
    assert isinstance(content, Choice)
    return content


def put_in_place(segment: Segment, still: tuple[str, int | None] | None) -> Segment:
    """Return a segment with the picture in its place, for its own time or the time told."""
    if still is None:
        return segment
    address, seconds = still
    shown = replace(segment, plate=Plate(address=address))
    if seconds is None:
        return shown
    return replace(shown, at_least=None, at_most=None, exactly=Fraction(seconds))


def hang(
    film: Film, segments: Sequence[Segment], insert: Sequence[Put], places: Sequence[Place]
) -> None:
    """Put what is inserted before and after what it stands beside."""
    named: dict[str, Place] = {}
    waiting, left = list(insert), len(insert) + 1
    while waiting:
        if len(waiting) == left:
            raise RefusedError("these stand only beside one another")
        left = len(waiting)
        for put in list(waiting):
            if isinstance(put.beside, Choice):
                first, last = put.beside.numbers[0], put.beside.numbers[-1]
                end = last if put.side == "after" else first
                showings = [place for place in places if place.number == end]
                if not showings:
                    raise RefusedError("beside what does not play")
                beside = showings[-1] if put.side == "after" else showings[0]
            elif put.beside in named:
                beside = named[put.beside]
            else:
                continue
            new = Place(shown_by(film, segments, put, beside.reel), beside.reel)
            (beside.after if put.side == "after" else beside.before)[insert.index(put)] = new
            waiting.remove(put)
            if put.name:
                named[put.name] = new


def shown_by(film: Film, segments: Sequence[Segment], put: Put, reel: str) -> list[Item]:
    """Return what is put into a reel."""
    if "play" in put.content:
        return [segments[number] for number in chosen(put.content["play"]).numbers]
    if "scan" not in put.content:
        still = put.content.get("still")
        return [
            Inserted(
                reel=reel,
                kind=ShotKind.ACTION,
                lasts=seconds(str(put.content.get("for") or put.content.get("black"))),
                plate=None if still is None else Plate(address=str(still)),
                name=put.name,
            )
        ]
    first, last = put.content["first"], put.content["last"]
    assert isinstance(first, int)
    assert isinstance(last, int)
    speed = put.content.get("speed") or around(film, reel)
    spoken = None if speed is None else parse_pace(str(speed))
    if spoken is not None and not isinstance(spoken, SpokenSpeed):
        raise RefusedError("a ramp is for the film's own frames")
    return [
        Segment(
            reel="print",
            first=first,
            last=last,
            shot=None,
            kind=ShotKind.ACTION,
            pace=Free() if spoken is None else Steady(speed=spoken.on(None, None)),
            name=put.name,
        )
    ]


def around(film: Film, reel: str) -> str | None:
    """Return the speed that a reel has, as written: its own, else the version's."""
    rules = dict(line.split(": ", 1) for line in film.speeds)
    by_reel = rules.get("reels", "{}").strip("{}")
    if by_reel.startswith(f"{reel}: "):
        return by_reel.split(": ", 1)[1]
    return rules.get("speed")


def seconds(text: str) -> Fraction:
    return Fraction(text.removesuffix(" s"))


# Random films and assemblies.

sizes = st.integers(1, 9)
some_seconds = st.integers(1, 5)
kinds = st.sampled_from(["black", "still", "scan", "play"])
sides = st.sampled_from(["after", "before"])
SPEEDS = [
    ["speed: 20 fps"],
    ["speed: 16 fps -> 22 fps"],
    ["speed: 20 fps", "reels: {2: 22 fps}"],
    ["speed: 18 fps", "reels: {1: 16 fps -> 24 fps}"],
    ["runtime: 2:00", "reels: {1: 18 fps}"],
    ["runtime: 2:00"],
]


@st.composite
def scanned(draw: st.DrawFn) -> list[Piece]:
    """Draw one to three reels of shots, with frames in no shot between some of them."""
    pieces: list[Piece] = []
    for reel in "123"[: draw(st.integers(1, 3))]:
        at = draw(st.sampled_from([0, 7]))
        for number in range(draw(st.integers(1, 3))):
            if draw(st.sampled_from([False, False, True])):
                pieces.append(Piece(reel, at, at + draw(sizes), None))
                at = pieces[-1].last + 1
            pieces.append(Piece(reel, at, at + draw(sizes), str(number + 1)))
            at = pieces[-1].last + 1
    return pieces


@st.composite
def choices(draw: st.DrawFn, pieces: Sequence[Piece]) -> Choice:
    """Draw a reel, a shot, or a run of shots with the frames between them."""
    numbers = [number for number, piece in enumerate(pieces) if piece.shot]
    first = draw(st.sampled_from(numbers))
    match draw(st.sampled_from(["reel", "shot", "shot", "run"])):
        case "reel":
            reel = pieces[first].reel
            inside = [number for number, piece in enumerate(pieces) if piece.reel == reel]
            return Choice(reel, inside)
        case "shot":
            return Choice(pieces[first].key, [first])
        case _:
            last = draw(st.sampled_from([number for number in numbers if number >= first]))
            text = f"{pieces[first].key}-{pieces[last].key}"
            return Choice(text, range(first, last + 1))


@st.composite
def contents(draw: st.DrawFn, pieces: Sequence[Piece]) -> Content:
    """Draw what is put in."""
    match draw(kinds):
        case "black":
            return {"black": f"{draw(some_seconds)} s"}
        case "still":
            return {"still": "bridge.tif", "for": f"{draw(some_seconds)} s"}
        case "play":
            return {"play": draw(choices(pieces))}
        case _:
            first = draw(sizes)
            content: Content = {"scan": "print.mkv", "first": first, "last": first + draw(sizes)}
            return content | ({"speed": "24 fps"} if draw(st.booleans()) else {})


@st.composite
def orders(draw: st.DrawFn, pieces: Sequence[Piece]) -> list[Choice]:
    """Draw an order that most often has the whole film, and parts of it once more."""
    some = draw(st.lists(choices(pieces), min_size=1, max_size=3))
    if draw(st.sampled_from([False, False, True])):
        return some
    reels = draw(st.permutations(sorted({piece.reel for piece in pieces})))
    whole = [
        Choice(reel, [number for number, piece in enumerate(pieces) if piece.reel == reel])
        for reel in reels
    ]
    return whole + some[1:]


@st.composite
def sections(draw: st.DrawFn, pieces: Sequence[Piece], stem: str) -> Section:
    """Draw an assembly whose insets are named after ``stem``, and may stand beside one another."""
    several = st.lists(choices(pieces), max_size=3)
    insert: list[Put] = []
    names = [f"{stem} {number}" for number in range(draw(st.integers(0, 4)))]
    for number, name in enumerate(names):
        beside: Choice | str = draw(choices(pieces))
        others = names[:number] + (names[number + 1 :] if number == 0 else [])
        if draw(st.booleans()) and others:
            beside = draw(st.sampled_from(others))
        insert.append(Put(draw(sides), beside, draw(contents(pieces)), name))
    free = [put for put in insert if isinstance(put.beside, Choice)]
    numbers = [number for number, piece in enumerate(pieces) if piece.shot]
    stills = st.tuples(st.sampled_from([f"{stem}.tif", "other.png"]), st.none() | some_seconds)
    return Section(
        order=draw(st.none() | st.none() | orders(pieces)),
        omit=draw(several),
        insert=insert if free else [],
        replace=draw(st.dictionaries(st.sampled_from(numbers), stills, max_size=2)),
    )


@st.composite
def films(draw: st.DrawFn) -> Film:
    pieces, speeds = draw(scanned()), draw(st.sampled_from(SPEEDS))
    film, version = draw(sections(pieces, "first")), draw(sections(pieces, "second"))
    reels = {piece.reel for piece in pieces}
    known = [line for line in speeds if not line.startswith("reels: {2") or "2" in reels]
    return Film(pieces, known, film, version)


@settings(max_examples=200, deadline=None)
@given(films())
def test_what_plays_is_what_the_rules_make_of_a_plain_list(film: Film) -> None:
    try:
        items, forgotten = plainly_arranged(film)
    except RefusedError as refused:
        event(str(refused))
        with pytest.raises(DocumentError):
            film.arranged()
        return
    event("assembled")
    arranged = film.arranged()

    assert items == list(arranged.items)
    if merged(film.film, film.version).order is None:
        forgotten = []
    assert forgotten == list(arranged.forgotten)


@settings(max_examples=40, deadline=None)
@given(st.data(), scanned(), st.sampled_from(SPEEDS[:2]), sides)
def test_what_is_left_out_and_put_in_where_it_was_is_as_if_it_had_stayed(
    data: st.DataObject, pieces: list[Piece], speeds: list[str], side: str
) -> None:
    choice = data.draw(choices(pieces))
    section = Section(omit=[choice], insert=[Put(side, choice, {"play": choice})])
    film = Film(pieces, speeds, version=section)

    assert (film.as_scanned(), ()) == film.arranged()


def durations_of(timeline: Timeline) -> set[tuple[str, int | None, Fraction]]:
    """Return how long every frame lasts, by reel and frame."""
    return {
        (timeline.reels[timeline.units[one.unit].reel].name, one.frame(slot), lasts)
        for one in timeline.stretches
        if not one.inset
        for slot in range(one.count)
        for lasts in [one.pace.elapsed(slot + 1) - one.pace.elapsed(slot)]
    }


@settings(max_examples=60, deadline=None)
@given(films())
def test_a_frame_keeps_its_own_speed_wherever_it_comes_to_stand(film: Film) -> None:
    try:
        items = film.arranged().items
    except DocumentError:
        return
    own = durations_of(assemble(film.as_scanned(), {}, Fraction(1, 20)))
    found = durations_of(assemble(items, {}, Fraction(1, 20)))

    assert {one for one in found if one[0] != "print"} <= own


@settings(max_examples=60, deadline=None)
@given(films())
def test_a_runtime_is_met_exactly_whatever_is_put_in(film: Film) -> None:
    film = replaced_speeds(film, SPEEDS[-1])
    try:
        items = film.arranged().items
    except DocumentError:
        return
    runtime = Fraction(120)
    fixed = sum(row.duration for unit in rows(items, free=Fraction(0)) for row in unit)
    free = [
        one
        for one in items
        if isinstance(one, Segment) and isinstance(one.pace, Free) and one.exactly is None
    ]
    solved = solved_duration(items, runtime)
    if not free or fixed >= runtime:
        event("nothing is left to fill")
        assert solved is None
        return

    assert solved is not None
    assert runtime == assemble(items, {}, solved).duration


def replaced_speeds(film: Film, speeds: Sequence[str]) -> Film:
    return Film(film.pieces, speeds, film.film, film.version)


# The same rules by hand, on two reels of three shots.

SHOTS = [
    Piece(reel, 10 * number, 10 * number + 9, str(number + 1))
    for reel in "12"
    for number in range(3)
]
PRINT: Content = {"scan": "print.mkv", "first": 3, "last": 5}
ALL = ["1/1", "1/2", "1/3", "2/1", "2/2", "2/3"]


def shot(text: str) -> Choice:
    first, _, last = text.partition("-")
    return Choice(text, range(ALL.index(first), ALL.index(last or first) + 1))


def black(name: str, **where: str) -> Put:
    """Return a second of black after or before a shot, or another inset."""
    ((side, beside),) = where.items()
    return Put(side, shot(beside) if "/" in beside else beside, {"black": "1 s"}, name)


def told(item: Item) -> str:
    """Return an item's name: a plate's by its file, a shot's by reel and shot, an inset's own."""
    if item.plate is not None:
        return item.plate.address
    if isinstance(item, Segment) and item.shot is not None:
        return f"{item.reel}/{item.shot.name}"
    return item.name or ""


def playing(film: Section = Section(), version: Section = Section()) -> list[str]:
    items = Film(SHOTS, ["speed: 20 fps"], film, version).arranged().items
    return [told(item) for item in items]


def refusal(version: Section, speeds: Sequence[str] = ("speed: 20 fps",)) -> str:
    with pytest.raises(DocumentError) as refused:
        Film(SHOTS, speeds, version=version).arranged()
    return str(refused.value)


def test_all_plays_as_scanned_where_nothing_is_said() -> None:
    assert ALL == playing()


def test_a_versions_order_takes_the_place_of_the_films() -> None:
    film, version = Section(order=[shot("1/1")]), Section(order=[shot("2/1"), shot("1/2-1/3")])

    assert ["1/1"] == playing(film)
    assert ["2/1", "1/2", "1/3"] == playing(film, version)


def test_omissions_and_insets_of_film_and_version_add_up() -> None:
    film = Section(omit=[shot("1/2")], insert=[black("first", after="1/1")])
    version = Section(omit=[shot("2/1-2/3")], insert=[black("second", after="1/1")])

    assert ["1/1", "first", "second", "1/3"] == playing(film, version)


def test_replacements_of_a_version_go_before_the_films_shot_by_shot() -> None:
    film = Section(replace={0: ("a.tif", None), 1: ("b.tif", None)})
    version = Section(replace={1: ("c.tif", 3)})

    assert ["a.tif", "c.tif", *ALL[2:]] == playing(film, version)


def test_an_inset_stands_after_the_last_showing_and_before_the_first() -> None:
    order = [shot("1/1"), shot("1/2"), shot("1/1"), shot("1/3")]
    insert = [black("later", after="1/1"), black("sooner", before="1/1")]

    expected = ["sooner", "1/1", "1/2", "1/1", "later", "1/3"]
    assert expected == playing(Section(order=order, insert=insert))


def test_beside_a_run_an_inset_stands_at_its_end() -> None:
    insert = [black("after", after="1/2-2/1"), black("before", before="1/2-2/1")]

    expected = ["1/1", "before", "1/2", "1/3", "2/1", "after", "2/2", "2/3"]
    assert expected == playing(Section(insert=insert))


def test_beside_a_shot_that_is_left_out_an_inset_stands_in_its_place() -> None:
    insert = [black("after", after="1/2"), black("before", before="1/2")]

    expected = ["1/1", "before", "after", *ALL[2:]]
    assert expected == playing(Section(omit=[shot("1/2")], insert=insert))


def test_several_in_one_place_stand_in_the_order_written() -> None:
    after = [black(name, after="1/1") for name in "ab"]
    before = [black(name, before="1/1") for name in "cd"]

    assert ["c", "d", "1/1", "a", "b", *ALL[1:]] == playing(Section(insert=[*after, *before]))


def test_an_inset_beside_another_stands_right_beside_it_whatever_else_stands_there() -> None:
    insert = [
        black("a", after="1/1"),
        black("beside a", after="a"),
        black("b", after="1/1"),
        black("c", before="1/1"),
        black("beside c", after="c"),
        black("d", before="1/1"),
    ]

    expected = ["c", "beside c", "d", "1/1", "a", "beside a", "b", *ALL[1:]]
    assert expected == playing(Section(insert=insert))


def test_insets_beside_one_that_is_written_between_them_stand_in_the_order_written() -> None:
    insert = [black("x", after="a"), black("a", after="1/1"), black("y", after="a")]

    assert ["1/1", "a", "x", "y", *ALL[1:]] == playing(Section(insert=insert))


def test_what_plays_once_more_is_as_it_is_in_its_place() -> None:
    again = Put("after", shot("2/3"), {"play": shot("1/1-1/2")}, "again")
    section = Section(
        omit=[shot("1/1")],
        insert=[again, black("last", after="again"), black("between", before="again")],
        replace={1: ("b.tif", None)},
    )

    assert ["b.tif", *ALL[2:], "between", "1/1", "b.tif", "last"] == playing(section)


def test_frames_of_another_scan_take_the_speed_of_the_reel_around_them() -> None:
    """The second stands beside the first, and in reel 2 like it."""
    insert = [Put("after", shot("2/1"), PRINT, "one"), Put("after", "one", PRINT, "two")]
    film = Film(SHOTS, ["speed: 20 fps", "reels: {2: 22 fps}"], version=Section(insert=insert))

    speeds = {item.name: item.pace for item in film.arranged().items if isinstance(item, Segment)}
    assert Steady(speed=Speed(Fraction(22))) == speeds["one"] == speeds["two"]


def test_a_still_beside_frames_of_another_scan_stands_in_the_reel_that_they_stand_in() -> None:
    insert = [Put("after", shot("2/1"), PRINT, "one"), black("two", after="one")]
    film = Film(SHOTS, ["speed: 20 fps"], version=Section(insert=insert))

    assert ["2"] == [one.reel for one in film.arranged().items if isinstance(one, Inserted)]


def test_a_ramp_lends_no_speed_to_frames_of_another_scan() -> None:
    section = Section(insert=[Put("after", shot("1/1"), PRINT)])

    assert "frames of another scan take one speed" in refusal(section, ["speed: 16 fps -> 18 fps"])


def test_what_an_order_names_nowhere_is_forgotten() -> None:
    section = Section(
        order=[shot("1/1")],
        omit=[shot("1/2")],
        insert=[Put("after", shot("1/1"), {"play": shot("1/3")}), black("a", after="1/1")],
        replace={3: ("a.tif", None)},
    )
    film = Film(SHOTS, ["speed: 20 fps"], version=section)

    forgotten = film.arranged().forgotten
    assert ["a.tif", "2/2", "2/3"] == [told(one) for one in forgotten]


@pytest.mark.parametrize(
    ("section", "text"),
    [
        (Section(omit=[Choice("1/1-2/3", [])]), "nothing plays in version plain"),
        (Section(order=[Choice("1/3-1/2", [])]), "the run 1/3-1/2 runs backwards"),
        (
            Section(order=[shot("1/1")], insert=[black("a", after="1/2")]),
            "1/2 does not play in version plain",
        ),
        (Section(insert=[black("a", after="b")]), 'there is no reel, shot or insert "b"'),
        (
            Section(insert=[black("a", after="b"), black("b", before="a")]),
            "these inserts stand only beside one another",
        ),
    ],
)
def test_what_cannot_be_arranged_is_refused_at_its_line(section: Section, text: str) -> None:
    """The version's section is what the map ends with."""
    line = len(Film(SHOTS, ["speed: 20 fps"]).text().splitlines())

    place, _, said = refusal(section).partition(": ")
    assert text in said
    assert place.startswith("map.yaml:")
    assert int(place.split(":")[1]) > line
