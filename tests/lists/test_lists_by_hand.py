"""Tables, plain lists and lists in feet and frames: what people keep about a film's cuts."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from listmaps import Cut, cuts

from retime.film.gauge import Footage, gauge_named
from retime.film.speed import Rate, Speed
from retime.lists.collecting import collected
from retime.lists.plain_lists import read_plain
from retime.lists.shot_table import shot_table
from retime.lists.tables import read_table
from retime.lists.terms import OurReel, Terms

PATH = Path("cuts.csv")
BOTH = {"1": OurReel(name="1", first=18, last=334), "2": OurReel(name="2", first=14, last=342)}
PLAIN = Terms(reels=BOTH)
AT_35 = Terms(reels=BOTH, gauge=gauge_named("35mm"))


def table(text: str, terms: Terms = PLAIN, *, tabs: bool = False) -> list[Cut]:
    return cuts(collected([read_table(text.encode(), PATH, terms, tabs=tabs)], PATH, terms)[0])


def plain(text: str, terms: Terms = PLAIN) -> list[Cut]:
    return cuts(collected([read_plain(text.encode(), PATH, terms)], PATH, terms)[0])


EXPECTED = [
    Cut("1", 18, 57, "1", "title", "main title"),
    Cut("1", 58, 93, "2", "action", "Skarrow Point, at dusk"),
    Cut("2", 14, 45, "1A", "action", None),
]


def test_columns_may_stand_in_any_order_and_others_are_told() -> None:
    text = (
        "name,last,reel,First,kind,shot,weather\n"
        "main title,57,1,18,Title,,dry\n"
        '"Skarrow Point, at dusk",93,1,58,,,\n'
        ",45,2,14,action,1A,\n"
    )
    read = read_table(text.encode(), PATH, PLAIN)

    assert EXPECTED == table(text)
    assert ['cuts.csv:1:1: warning: not carried over: column "weather"'] == [
        str(one) for one in read.findings
    ]


def test_tabs_divide_as_well_and_bounds_may_leave_the_out_out() -> None:
    text = (
        "reel\tin\tout\tkind\tname\tshot\n1\t18\t58\ttitle\tmain title\n"
        "1\t58\t94\t\tSkarrow Point, at dusk\n2\t14\t46\t\t\t1A\n"
    )

    assert EXPECTED == table(text, tabs=True)


def test_lengths_follow_one_another_from_the_reels_first_frame() -> None:
    text = "reel,length,kind,name\n1,40,title,main title\n1,36,,x\n2,32,,\n"

    assert [(18, 57), (58, 93), (14, 45)] == [one[1:3] for one in table(text)]


def test_lengths_in_feet_follow_as_well() -> None:
    """16 frames to the foot: 2+08 is 40 frames."""
    text = "reel,length\n1,2+08\n1,2+04\n2,2+00\n"

    assert [(18, 57), (58, 93), (14, 45)] == [one[1:3] for one in table(text, AT_35)]


def test_feet_count_from_the_first_frame_of_picture_or_from_a_zero() -> None:
    """2+08 is frame 40 of the picture, 58 of the scan; on 16mm, 40 to the foot, it is 88."""
    text = "reel 1\n0+00 2+07 title main title\n2+08 4+11 Skarrow Point, at dusk\n"
    zero = Terms(reels=BOTH, gauge=gauge_named("35mm"), zeros={"1": 10})

    assert EXPECTED[:2] == plain(text, AT_35)
    assert [(10, 49), (50, 85)] == [one[1:3] for one in plain(text, zero)]
    small = {"1": OurReel(name="1", first=18, gauge=gauge_named("16mm"))}
    assert [(18, 105), (106, 189)] == [one[1:3] for one in plain(text, Terms(reels=small))]


def test_feet_of_uneven_frames_begin_with_their_first_whole_one() -> None:
    """9.5 by pitch: 304.8/7.54 frames to the foot, so foot 1 begins with frame 41."""
    terms = Terms(gauge=gauge_named("9.5mm"), footage=Footage.PITCH, only="1")

    assert [(41, 41)] == [one[1:3] for one in plain("1+00 1+00\n", terms)]


def test_a_plain_list_of_firsts_runs_from_cut_to_cut_up_to_the_reels_last() -> None:
    text = (
        "# by hand\nREEL 1:\n18\n58   # dusk\n94 title Abel Quorn had kept the lamp\nreel 2\n14\n"
    )

    assert [
        Cut("1", 18, 57, "1", "action", None),
        Cut("1", 58, 93, "2", "action", None),
        Cut("1", 94, 334, "3", "title", "Abel Quorn had kept the lamp"),
        Cut("2", 14, 342, "1", "action", None),
    ] == plain(text)


@pytest.mark.parametrize("divider", ["  ", "\t", "-", " - ", "..", ", "])
def test_first_and_last_are_divided_as_people_do(divider: str) -> None:
    assert [(18, 57)] == [one[1:3] for one in plain(f"reel 1\n18{divider}57 main title\n")]


def test_labels_count_from_where_the_scan_starts() -> None:
    terms = Terms(
        reels=BOTH, rate=Rate(Fraction(25)), starts={"1": "01:00:00:00", None: "02:00:00:00"}
    )
    text = "reel,in,out\n1,01:00:00:18,01:00:02:08\n2,02:00:00:14,02:00:01:21\n"

    assert [(18, 57), (14, 45)] == [one[1:3] for one in table(text, terms)]


def test_drop_labels_are_known_by_their_mark() -> None:
    """00:01:00;02 is the label after 00:00:59;29, frame 1,800 (ST 12-1)."""
    terms = Terms(only="1", rate=Rate(Fraction(30000, 1001)))

    assert [(1800, 1829)] == [one[1:3] for one in plain("00:01:00;02 00:01:01;01\n", terms)]


def test_labels_of_a_transfer_become_film_frames() -> None:
    """16 in 24: film frame 160 begins with frame 240, ten seconds in."""
    terms = Terms(only="1", rate=Rate(Fraction(24)), speed=Speed(Fraction(16)))

    assert [(0, 159), (160, 239)] == [
        one[1:3] for one in plain("00:00:00:00 00:00:09:23\n00:00:10:00 00:00:14:23\n", terms)
    ]


def test_parts_of_one_shot_are_joined_and_shots_put_in_order() -> None:
    rows = ("2,14,20,1,", "1,58,93,2,", "1,40,57,1,", "1,18,39,1,title", "2,21,45,1,")
    text = "\n".join(("reel,first,last,shot,kind", *rows))

    assert [
        Cut("1", 18, 57, "1", "title", None),
        Cut("1", 58, 93, "2", "action", None),
        Cut("2", 14, 45, "1", "action", None),
    ] == table(text)


def test_what_is_shown_twice_is_one_shot_and_told() -> None:
    text = "reel,first,last\n1,18,57\n1,58,93\n1,18,57\n"
    shots, odd = collected([read_table(text.encode(), PATH, PLAIN)], PATH, PLAIN)

    assert [(18, 57), (58, 93)] == [one[1:3] for one in cuts(shots)]
    assert "show once more what another shows" in str(odd[0])


def test_frames_outside_of_the_picture_are_told() -> None:
    _, odd = collected([read_table(b"reel,first,last\n1,0,17\n", PATH, PLAIN)], PATH, PLAIN)

    assert "lie outside of the picture of reel 1, 18 to 334" in str(odd[0])


def test_shots_without_names_get_numbers_that_are_free() -> None:
    text = "reel,first,last,shot\n1,18,57,2\n1,58,93,\n1,94,129,\n"

    assert ["2", "3", "4"] == [one.shot for one in table(text)]


@pytest.mark.parametrize(
    ("called", "ours"), [("1", "1"), ("001", "1"), ("0002", "2"), ("LAMP", "2"), ("lamp", "2")]
)
def test_reels_are_known_by_number_or_by_what_they_are_called(called: str, ours: str) -> None:
    assert ours == Terms(reels=BOTH, called={"Lamp": "2"}).reel(called)


def test_the_table_that_is_written_is_the_maps_own() -> None:
    shots, _ = collected([read_plain(b"18 57 title A, B\n", PATH, Terms(only="1"))], PATH, Terms())

    assert 'reel,first,last,shot,kind,name\n1,18,57,1,title,"A, B"\n' == shot_table(shots)
