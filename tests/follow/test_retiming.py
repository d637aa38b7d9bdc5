"""Cues go through the one map of time exactly, and never overlap or leave the film by it."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from filmstrips import strip
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from subtitling import READERS, WRITERS, Title, identity, maps, steady, titles

from retime.film.speed import Rate
from retime.findings import Severity, TextPlace
from retime.follow.cues import Cue
from retime.follow.retiming import RetimeLimits, retimed
from retime.follow.subtitle_document import SubtitleKind
from retime.follow.subtitle_files import subtitles_in
from retime.follow.subtitles_list import film_cues_in
from retime.plan.assembly import assemble
from retime.plan.timemap import Clock, Leg, TimeMap, carried, true_clock

if TYPE_CHECKING:
    from collections.abc import Sequence

PATH = Path("tidewatcher.srt")
FREE = RetimeLimits()
ZERO = Fraction(0)


def at(*times: Fraction | float | str) -> tuple[Fraction, ...]:
    return tuple(Fraction(time) for time in times)


def cue(
    begin: Fraction | float | str, end: Fraction | float | str, index: int = 0, **more: object
) -> Cue:
    place = TextPlace(path=PATH, line=10 * index + 2, column=1)
    return Cue(
        begin=Fraction(begin),
        end=Fraction(end),
        text=f"cue {index}",
        index=index,
        place=place,
        **more,  # type: ignore[arg-type]
    )


def cues_of(made: Sequence[Title]) -> list[Cue]:
    return [
        cue(Fraction(begin, 1000), Fraction(end, 1000), index)
        for index, (begin, end, _) in enumerate(made)
    ]


def legs(
    *numbers: tuple[float, float, float, float], duration: float | str | None = None
) -> TimeMap:
    every = tuple(Leg(*map(Fraction, four)) for four in numbers)
    return TimeMap(legs=every, duration=Fraction(duration or every[-1].end))


def overlap(one: Cue, other: Cue) -> bool:
    return one.begin < other.end and other.begin < one.end


def turned(time_map: TimeMap) -> TimeMap:
    """Return the map back, of film that plays once and in order."""
    every = tuple(Leg(c, d, a, b) for a, b, c, d in time_map.legs)
    return TimeMap(legs=every, duration=every[-1].end)


any_maps = st.one_of(
    maps(), maps(cut=True), maps(inset=True), maps(cut=True, inset=True),
    maps(cut=True, inset=True, shuffled=True),
)  # fmt: skip
limits = st.builds(
    RetimeLimits,
    gap=st.sampled_from([ZERO, Fraction(1, 12), Fraction(1, 2)]),
    shortest=st.sampled_from([ZERO, Fraction(1, 24), Fraction(1)]),
    slack=st.sampled_from([ZERO, Fraction(1, 2000), Fraction(1, 48)]),
)


def test_a_title_of_3_s_at_20_fps_stands_2_and_a_half_s_at_24() -> None:
    """60 film frames last 60/20 = 3 s and 60/24 = 2.5 s, in the real plan's map."""
    source, target = (assemble(strip((48, fps), (60, fps), (99, fps)), {}) for fps in (20, 24))
    course = carried(target, true_clock(), source, true_clock(), target.duration)
    title = cue(source.units[1].start, source.units[1].stop)
    (found,), findings = retimed([title], course, FREE)

    assert 3 == title.end - title.begin
    assert at(2, "4.5") == found.times
    assert () == findings


@settings(max_examples=50, deadline=None)
@given(titles(most=6), any_maps, limits)
def test_cues_never_overlap_or_leave_the_film_by_retiming(
    made: list[Title], time_map: TimeMap, limit: RetimeLimits
) -> None:
    cues = cues_of(made)
    found, findings = retimed(cues, time_map, limit)

    assert all(0 <= one.begin <= one.end <= time_map.duration for one in found)
    assert not any(overlap(one, other) for one, other in combinations(found, 2))
    assert all(one.begin <= other.begin for one, other in pairwise(found))
    lost = {one.index for one in cues} - {one.index for one in found}
    told = {one.place for one in findings if one.rule in {"cue-lost", "cue-past-end"}}
    assert {cues[index].place for index in lost} <= told
    assert all(one.severity is Severity.WARNING for one in findings)
    event(f"lost {len(lost)}, findings {sorted({one.rule for one in findings})}")


@settings(max_examples=40, deadline=None)
@given(titles(most=6), any_maps, limits)
def test_cues_that_overlapped_may_go_on_to_and_others_may_not(
    made: list[Title], time_map: TimeMap, limit: RetimeLimits
) -> None:
    cues = [cue(one.begin, one.end + index % 3, index) for index, one in enumerate(cues_of(made))]
    found, _ = retimed(cues, time_map, limit)

    for one, other in combinations(found, 2):
        if one.index != other.index and overlap(one, other):
            assert overlap(cues[one.index], cues[other.index])


@settings(max_examples=40, deadline=None)
@given(titles(most=6), maps(cut=True))
def test_a_cue_stands_while_its_film_plays_and_not_longer(
    made: list[Title], time_map: TimeMap
) -> None:
    """Held against the map's other direction, eight times a second and at every cut."""
    cues = cues_of(made)
    found = {one.index: one for one in retimed(cues, time_map, FREE)[0]}
    times = [Fraction(step, 8) for step in range(int(time_map.duration * 8) + 1)]
    times += [leg.begin for leg in time_map.legs]
    for time in times:
        source = time_map.source_at(time)
        for one in cues:
            stands = one.index in found and (found[one.index].begin <= time < found[one.index].end)
            assert (source is not None and one.begin <= source < one.end) == stands


@settings(max_examples=40, deadline=None)
@given(titles(most=6), maps())
def test_begins_and_ends_are_the_maps_own_and_come_back_exactly(
    made: list[Title], time_map: TimeMap
) -> None:
    end = time_map.legs[-1].source_end
    cues = [one for one in cues_of(made) if one.end < end]
    found, findings = retimed(cues, time_map, FREE)

    assert () == findings
    assert [(time_map.at(one.begin), time_map.at(one.end)) for one in cues] == [
        (one.begin, one.end) for one in found
    ]
    assert tuple(cues) == retimed(found, turned(time_map), FREE)[0]


@settings(max_examples=40, deadline=None)
@given(titles(most=6), st.one_of(maps(), maps(cut=True, inset=True)), st.sampled_from(SubtitleKind))
def test_there_and_back_through_files_returns_every_cue_within_the_resolution(
    made: list[Title], time_map: TimeMap, kind: SubtitleKind
) -> None:
    """Cues of film that plays whole; the other file's rounding must not throw one over a cut."""
    inside = [one for one in made if () == retimed(cues_of([one]), time_map, FREE)[1]]
    assume(inside)
    step = 10 if kind is SubtitleKind.ASS else 1
    document = subtitles_in(WRITERS[kind](inside).encode(), PATH, kind)
    slack = RetimeLimits(slack=document.resolution / 2)
    there = document.encoded(retimed(document.cues, time_map, slack)[0])
    between = subtitles_in(there, PATH, kind)
    assert () == between.findings
    back = between.encoded(retimed(between.cues, turned(time_map), slack)[0])
    found = READERS[kind](back.decode())

    assert [one.words for one in inside] == [one.words for one in found]
    for one, other in zip(inside, found, strict=True):
        assert abs(one.begin - other.begin) <= step
        assert abs(one.end - other.end) <= step


@settings(max_examples=40, deadline=None)
@given(titles(most=6), maps(cut=True), st.sampled_from([Fraction(1, 12), Fraction(1, 4)]))
def test_a_gap_is_kept_as_far_as_the_source_had_it(
    made: list[Title], time_map: TimeMap, gap: Fraction
) -> None:
    cues = cues_of(made)
    plain, _ = retimed(cues, time_map, FREE)
    found, findings = retimed(cues, time_map, RetimeLimits(gap=gap))

    assert [one.begin for one in plain] == [one.begin for one in found]
    for one, after in pairwise(found):
        had = cues[after.index].begin - cues[one.index].end
        assert after.begin - one.end >= min(gap, had, after.begin - one.begin)
    earlier = [before.end - one.end for before, one in zip(plain, found, strict=True)]
    assert all(by >= 0 for by in earlier)
    assert any(earlier) == any(one.rule == "cue-gap" for one in findings)


def test_a_gap_is_kept_told_and_never_widened() -> None:
    """Two frames at 24 are 1/12 s; at 25/24 of the speed they would last 0.08 s."""
    cues = [cue(0, 1), cue(Fraction(13, 12), 2, 1), cue(Fraction(201, 100), 3, 2)]
    found, findings = retimed(
        cues, steady(Fraction(25, 24), Fraction(72, 25)), RetimeLimits(gap=Fraction(1, 12))
    )

    assert [Fraction(1, 12), Fraction(1, 100)] == [
        other.begin - one.end for one, other in pairwise(found)
    ]
    (kept,) = told(findings)
    assert (
        "2:1: 2 cues end earlier, by 0:00:00.003 at most; so a gap of 0:00:00.083 is kept"
    ) == kept


def test_a_cue_lasts_as_long_as_it_must_where_there_is_room() -> None:
    shortest = RetimeLimits(shortest=Fraction(1, 4))
    course = legs((0, 1, 0, 10), (1, 2, 10, 11))
    short, free = cue(8, 10), cue("10.5", "10.6", 1)
    found, findings = retimed([short, free], course, shortest)

    assert [at("0.8", "1.05"), at("1.5", "1.6")] == [one.times for one in found]
    assert ["cue-short"] == [one.rule for one in findings]
    crowded, _ = retimed([short, cue(10, 11, 1)], course, shortest)
    assert [1, 1] == [crowded[0].end, crowded[1].begin]


def told(findings: Sequence[object]) -> list[str]:
    return [str(one).removeprefix("tidewatcher.srt:").replace("warning: ", "") for one in findings]


def test_a_cue_past_the_films_end_is_left_out_and_one_across_it_ends_with_it() -> None:
    found, findings = retimed([cue(8, 11), cue(12, 13, 1)], identity(Fraction(10)), FREE)

    assert [at(8, 10)] == [one.times for one in found]
    assert [
        '2:1: "cue 0" ends 0:00:01.000 after the film; it ends with it here',
        '12:1: "cue 1" begins at 0:00:12.000, and the film ends at 0:00:10.000; it is left out',
    ] == told(findings)


def test_a_cue_ends_with_what_is_made_where_its_film_goes_on_for_a_moment() -> None:
    """A deliverable is whole output frames long, and may be shorter than its film."""
    course = legs((0, 10, 0, 20), duration="9.98")
    found, findings = retimed([cue(18, 20)], course, RetimeLimits(slack=Fraction(1, 20)))

    assert [at(9, "9.98")] == [one.times for one in found]
    assert () == findings


def test_a_cue_over_film_that_is_left_out_stands_on_what_remains() -> None:
    course = legs((0, 2, 0, 2), (2, 4, 6, 8))
    found, findings = retimed([cue(1, 5), cue(1, 7, 1), cue(3, 5, 2)], course, FREE)

    assert [at(1, 2), at(1, 3)] == [one.times for one in found]
    rest = "does not play here, or not beside the rest; it stands on what remains"
    assert [
        f'2:1: 75 % of the film under "cue 0" {rest}',
        f'12:1: 67 % of the film under "cue 1" {rest}',
        '22:1: "cue 2" stands on film that does not play here; it is left out',
    ] == told(findings)


def test_a_cue_stands_on_through_a_short_inset_and_not_through_a_long_one() -> None:
    short, long = legs((0, 2, 0, 2), (3, 5, 2, 4)), legs((0, 2, 0, 2), (9, 11, 2, 4))
    (through,), findings = retimed([cue(1, 4)], short, FREE)
    (parted,), cut = retimed([cue(1, 4)], long, FREE)

    assert at(1, 5) == through.times
    assert ['2:1: "cue 0" stands on through 0:00:01.000 of picture that its source lacks'] == told(
        findings
    )
    assert at(9, 11) == parted.times
    assert ["cue-cut"] == [one.rule for one in cut]


def test_a_cue_does_not_stand_on_through_other_film_of_its_source() -> None:
    course = legs((0, 2, 0, 2), (2, 3, 10, 11), (3, 6, 2, 5))
    found, findings = retimed([cue(1, 4), cue(10, 11, 1)], course, FREE)

    assert [at(2, 3), at(3, 5)] == [one.times for one in found]
    assert ["cue-cut", "cue-moved"] == [one.rule for one in findings]


def test_film_after_the_end_of_what_is_made_carries_no_cue() -> None:
    course = legs((0, 2, 0, 2), (2, 3, 2, 3), duration=2)
    found, findings = retimed([cue(1, 2), cue("2.5", 3, 1)], course, FREE)

    assert [at(1, 2)] == [one.times for one in found]
    assert ["cue-past-end"] == [one.rule for one in findings]


def test_a_cue_stands_through_an_inset_that_both_have_and_nothing_is_told() -> None:
    found, findings = retimed([cue(1, 12)], legs((0, 2, 0, 2), (10, 14, 10, 14)), FREE)

    assert [at(1, 12)] == [one.times for one in found]
    assert () == findings


def test_cues_go_in_the_order_of_the_film_where_that_is_another() -> None:
    course = legs((0, 2, 2, 4), (2, 4, 0, 2))
    cues = [cue(0, 1), cue(1.5, 2.5, 1), cue(3, 4, 2)]
    found, findings = retimed(cues, course, FREE)

    assert [(1, at(0, "0.5")), (2, at(1, 2)), (0, at(2, 3))] == [
        (one.index, one.times) for one in found
    ]
    assert ["cue-cut", "cue-moved"] == [one.rule for one in findings]


def test_cues_out_of_order_stay_so_where_the_film_does_not_change_its_order() -> None:
    found, _ = retimed([cue(5, 6), cue(1, 2, 1)], steady(Fraction(1, 2), Fraction(20)), FREE)

    assert [at(10, 12), at(2, 4)] == [one.times for one in found]


def test_a_cue_stands_again_where_its_film_plays_again() -> None:
    course = legs((0, 4, 0, 4), (4, 5, 1, 2), (5, 7, 4, 6))
    cues = [cue(1, 2), cue(2, 3, 1), cue(5, 6, 2)]
    found, findings = retimed(cues, course, FREE)

    assert [(0, at(1, 2)), (1, at(2, 3)), (0, at(4, 5)), (2, at(6, 7))] == [
        (one.index, one.times) for one in found
    ]
    assert '2:1: the film under "cue 0" plays 2 times, and so does it' in told(findings)


def test_a_cue_that_misses_a_cut_by_less_than_the_slack_does_not_stand_beyond_it() -> None:
    course = legs((0, 2, 0, 2), (2.5, 5, 2, 4.5))
    just_before, just_after = cue("1.9996", 3), cue(1, "2.0004", 1)
    found, findings = retimed(
        [just_before, just_after], course, RetimeLimits(slack=Fraction(1, 2000))
    )

    assert [at(2.5, 3.5), at(1, 2)] == [one.times for one in found]
    assert () == findings
    strict, _ = retimed([just_before], course, FREE)
    assert Fraction("1.9996") == strict[0].begin


def test_a_cue_shorter_than_the_slack_stays() -> None:
    found, findings = retimed(
        [cue(1, "1.0001")], identity(Fraction(2)), RetimeLimits(slack=Fraction(1, 48))
    )

    assert [at(1, "1.0001")] == [one.times for one in found]
    assert () == findings


def test_a_cue_that_lasts_no_time_is_carried_to_where_it_stands() -> None:
    course = legs((0, 2, 0, 2), (5, 9, 2, 4))
    found, _ = retimed([cue(1, 1), cue(2, 2, 1), cue(3, 3, 2)], course, FREE)

    assert [at(1, 1), at(5, 5), at(7, 7)] == [one.times for one in found]


def test_times_inside_a_cue_are_carried_and_stay_as_far_outside_where_they_are_outside() -> None:
    course = legs((0, 2, 0, 2), (2, 8, 2, 5))
    inside = cue(1, 4, inner=at("1.5", 3, 5, "0.5"))
    (found,), _ = retimed([inside], course, FREE)

    assert at(1, 6, "1.5", 4, 7, "0.5") == found.times


def test_what_is_never_shown_takes_no_room() -> None:
    hidden = cue(1, 3, hidden=True)
    found, findings = retimed(
        [hidden, cue(3, 4, 1)], steady(Fraction(2), Fraction(2)), RetimeLimits(gap=Fraction(1))
    )

    assert [at(Fraction(1, 2), Fraction(3, 2)), at(Fraction(3, 2), 2)] == [
        one.times for one in found
    ]
    assert () == findings


def test_a_map_of_nothing_leaves_every_cue_out() -> None:
    found, findings = retimed([cue(0, 1)], TimeMap(legs=(), duration=Fraction(5)), FREE)

    assert () == found
    assert 1 == len(findings)


LIST = "reel,first,last,text\n1,48,107,The lamp\n1,0,23,Ebb\n1,300,310,Gone\n9,1,2,No reel\n"


def test_cues_on_film_frames_stand_while_these_play() -> None:
    """A clock of one frame a second, as film frames are counted, then 24 fps after 2 s of head."""
    counted, played = (assemble(strip((48, fps), (60, fps), (99, fps)), {}) for fps in (1, 24))
    film = film_cues_in(LIST.encode(), PATH)
    cues, errors = film.placed(counted, true_clock(), {})
    head = Clock(start=Fraction(2), run=Fraction(1))
    course = carried(played, head, counted, true_clock(), played.duration + 2)
    found, findings = retimed(cues, course, FREE)

    assert [at(48, 108), at(0, 24)] == [one.times for one in cues]
    assert [at(4, Fraction(13, 2)), at(2, 3)] == [one.times for one in found]
    assert () == findings
    assert [
        'tidewatcher.srt:4:1: no frame of 300 to 310 plays in reel "1"; it plays from 0 to 206',
        'tidewatcher.srt:5:1: there is no reel "9"; reels: 1',
    ] == [str(one) for one in errors]
    assert [Title(4000, 6500, "The lamp"), Title(2000, 3000, "Ebb")] == READERS[SubtitleKind.SRT](
        film.encoded(found).decode()
    )


def test_film_cues_out_of_order_or_overlapping_are_told() -> None:
    text = "reel,first,last,text\n1,5,9,A\n1,9,12,B\n1,1,2,C\n2,0,3,D\n"
    found = film_cues_in(text.encode(), PATH).findings

    assert [
        (4, "cue-order", '"C" begins before the cue above it in reel 1'),
        (3, "cue-overlap", '"B" begins before "A" ends'),
    ] == [(one.place.order[1], one.rule, one.text) for one in found]


@pytest.mark.parametrize("rate", ["24000/1001", "25", "30000/1001"])
def test_a_deliverables_run_is_carried_exactly(rate: str) -> None:
    """20 fps laid out at 24 and run at 25 goes 25/24 as fast: 108 s of film last 103.68 s."""
    fps = Rate(Fraction(rate)).fps
    run = Rate(Fraction(rate)).nominal.fps / fps if fps.denominator > 1 else Fraction(24, 25)
    film = assemble(strip((2160, 20)), {})
    clock = Clock(start=ZERO, run=run)
    course = carried(film, clock, film, true_clock(), film.duration * run)
    (found,), _ = retimed([cue(60, 108)], course, FREE)

    assert at(60 * run, 108 * run) == found.times
