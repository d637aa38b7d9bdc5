"""Whatever is wrong with a list is told where it stands, and nothing else happens."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retime.errors import DocumentError
from retime.film.gauge import gauge_named
from retime.film.speed import Rate
from retime.findings import Severity
from retime.lists.collecting import collected
from retime.lists.edl_reading import read_edl
from retime.lists.edl_shots import edl_shots
from retime.lists.otio_reading import read_otio
from retime.lists.plain_lists import read_plain
from retime.lists.tables import read_table
from retime.lists.terms import OurReel, Terms

OURS = {
    "1": OurReel(name="1", first=18, last=334, gauge=gauge_named("35mm")),
    "2": OurReel(name="2", gauge=gauge_named("35mm")),
}
DROPPING = Rate(Fraction(30000, 1001))
ONE = "001  001      V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
TWO = "002  001      V     C        00:00:03:00 00:00:04:00 01:00:01:00 01:00:02:00\n"
PAIR = (
    "001 001 V C 00:00:01:00 00:00:01:00 01:00:00:00 01:00:00:00\n"
    "001 002 V D 012 00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
)


def event(**fields: str) -> str:
    """Return an event's line, with some fields other than they should be."""
    usual = {
        "number": "003", "reel": "001", "channel": "V", "effect": "C", "i": "00:00:05:00",
        "o": "00:00:06:00", "ri": "01:00:02:00", "ro": "01:00:03:00",
    }  # fmt: skip
    return " ".join(one for one in {**usual, **fields}.values() if one) + "\n"


def errors(data: bytes, name: str, terms: Terms) -> list[str]:
    """Return what is said of a list as errors, line by line; each knows its place."""
    path = Path(name)
    try:
        match path.suffix:
            case ".edl":
                assert terms.rate
                read = edl_shots(read_edl(data, path, terms.rate), path, terms)
            case ".csv":
                read = read_table(data, path, terms)
            case ".tsv":
                read = read_table(data, path, terms, tabs=True)
            case ".otio":
                read = read_otio(data, path, terms)
            case _:
                read = read_plain(data, path, terms)
        collected([read], path, terms)
    except DocumentError as error:
        found = [one for one in error.findings if one.severity is Severity.ERROR]
        assert found
        assert all("\n" not in str(one) for one in found)
        return [str(one) for one in found]
    return []


EDLS: list[tuple[str, str, str]] = [
    # what stands in the list, where it is told, and in which words
    ("", "1:1", "there is no event"),
    ("TITLE: LAMP\n\n", "3:1", "there is no event"),
    (ONE + "TITLE: ANOTHER\nTITLE: ONE MORE\n", "3:1", "a second list begins here"),
    (ONE + event(i="00:00:05:24"), "2:13", "does not exist at 24"),
    (ONE + event(i="00:00:60:00"), "2:13", "does not exist at 24"),
    (ONE + event(o="00:61:00:00"), "2:25", "does not exist at 24"),
    (ONE + event(ro="25:00:00:00"), "2:49", "does not exist at 24"),
    (ONE + event(ri="99:99:99:99"), "2:37", "does not exist at 24"),
    (ONE + event(ri="1:00:02:00"), "2:37", "is no timecode"),
    (ONE + event(i="00:00:05:000"), "2:13", "frames are written in 2 digits"),
    (ONE + event(i="00:00:0x:00"), "2:13", "is no timecode"),
    (ONE + event(i="00.00.05.00"), "2:13", "is no timecode"),
    (ONE + event(i="-0:00:05:00"), "2:13", "is no timecode"),
    (ONE + event(o="00:00:04:00"), "2:25", "ends at 00:00:04:00, before it begins"),
    (ONE + event(ro="01:00:01:12"), "2:49", "the record ends"),
    (ONE + event(o=""), "2:37", "the event has 3 timecodes of four"),
    (ONE + event(o="", ri="", ro=""), "2:13", "the event has 1 timecodes of four"),
    (ONE + event(ro="01:00:03:00 01:00:04:00"), "2:61", "the event has 5 timecodes"),
    (ONE + "003\n", "2:1", "the event has 0 timecodes of four"),
    (ONE + event(reel=""), "2:5", "names no reel"),
    (ONE + event(reel="", channel=""), "2:1", "names no reel and no channel"),
    (ONE + event(reel="", channel="", effect=""), "2:5", "has no transition"),
    (ONE + event(channel="Q"), "2:9", "is no channel"),
    (ONE + event(channel="VIDEO"), "2:9", "is no channel"),
    (ONE + event(effect="X"), "2:11", "is no transition"),
    (ONE + event(effect="W"), "2:11", "is no transition"),
    (ONE + event(effect="Wx01"), "2:11", "is no transition"),
    (ONE + event(effect="D"), "2:13", "the transition D has no length"),
    (ONE + event(effect="W001"), "2:16", "the transition W has no length"),
    (ONE + event(effect="D 99999999999"), "2:13", "is no length of a transition"),
    (ONE + event(effect="D 025"), "2:53", "the transition lasts 25 frames, and the event 24"),
    (ONE + event(number="3a"), "2:1", "is no event number"),
    (ONE + event(number="9" * 12), "2:1", "is no event number"),
    (ONE + event(ri="01:00:00:12"), "2:5", "begins at 01:00:00:12, before event 001 ends"),
    (ONE + event(reel="009"), "2:5", "which is no reel of the map"),
    (ONE + event(reel="TWO"), "2:5", "which is no reel of the map"),
    (ONE + event(i="00:00:01:12", o="00:00:02:12"), "2:5", "lie over frames 24-47"),
    ("M2 001 018.0 00:00:01:00\n" + ONE, "1:1", "belongs to no event before it"),
    (ONE + "* SHOT: 1/\\x0a\n", "1:6", "is no name of a shot"),
    (ONE + "M2 001 fast 00:00:01:00\n", "2:8", "is no speed of an M2 line"),
    (ONE + "M2 001 18.0.0 00:00:01:00\n", "2:8", "is no speed of an M2 line"),
    (ONE + "M2 001 " + "9" * 400 + " 00:00:01:00\n", "2:8", "is no speed of an M2 line"),
    (ONE + "M2 001 018.0\n", "2:8", "the speed line is not whole"),
    (ONE + "M2\n", "2:1", "the speed line is not whole"),
    (ONE + "M2 001 018.0 00:00:01:24\n", "2:14", "does not exist at 24"),
    (ONE + "M2 001 018.0 soon\n", "2:14", "is no timecode"),
    (
        ONE + "M2 001 024.0 00:00:01:00\nM2 001 024.0 00:00:01:00\n",
        "3:1",
        "has its speed lines already",
    ),
    (
        PAIR + "M2 007 018.0 00:00:01:00\n",
        "3:1",
        'the event has "001" and "002"',
    ),
    ("FCM: SOMETIMES\n" + ONE, "1:1", "says no frame count"),
    ("FCM\n" + ONE, "1:1", "says no frame count"),
    ("FCM: DROP FRAME\n" + ONE, "1:1", "a rate of 24 has no such labels"),
    (ONE + event(ri="01:00:02;00", ro="01:00:03;00"), "2:37", "has no drop-frame labels"),
    (ONE + event(ri="01:00:02;00"), "2:49", "are not of one count"),
    (ONE + "!!! what is this\n", "2:1", "is no line of an EDL"),
    (ONE + "   <xml/>\n", "2:4", "is no line of an EDL"),
    (ONE + "\x00\x01\x02", "2:1", "the character U+0000 does not stand in a list"),
    (ONE + "* a bell \x07\n", "2:10", "the character U+0007"),
]


@pytest.mark.parametrize(("text", "place", "words"), EDLS)
def test_a_malformed_edl_is_told_at_its_place(text: str, place: str, words: str) -> None:
    terms = Terms(rate=Rate(Fraction(24)), reels=OURS)
    said = errors(text.encode(), "cuts.edl", terms)

    assert any(one.startswith(f"cuts.edl:{place}: ") and words in one for one in said), said


@pytest.mark.parametrize(
    ("label", "exists"),
    [
        ("00:01:00;00", False),
        ("00:01:00;01", False),
        ("00:01:00;02", True),
        ("00:10:00;00", True),
        ("00:59:00;01", False),
    ],
)
def test_a_drop_label_that_is_skipped_is_told(label: str, exists: bool) -> None:  # noqa: FBT001
    """ST 12-1: 00 and 01 are skipped in every minute that is no multiple of ten."""
    line = f"001 1 V C 00:00:20:00 00:00:21:00 00:00:00;00 {label}\n"
    said = errors(line.encode(), "cuts.edl", Terms(rate=DROPPING, reels=OURS))

    assert exists is not any(
        one.startswith("cuts.edl:1:47: ") and "drop-frame skips it" in one for one in said
    )


TABLES: list[tuple[str, str, str]] = [
    ("", "", "the table is empty"),
    ("reel,first,last\n", "1:1", "no row that is a shot"),
    ("shot,kind\n1,action\n", "1:1", "no column says where a shot begins"),
    ("first,last\n1,2\n", "1:1", 'no column "reel"'),
    ("reel,first,first,last\n", "1:12", "stands here twice"),
    ("reel,first,in,last\n1,2,2,3\n", "1:1", "say the same thing"),
    ("reel,in,out,last\n1,2,3,3\n", "1:1", "say the same thing"),
    ("reel,first,last\n1,x,20\n", "2:3", "is no place in a scan"),
    ("reel,first,last\n1,-5,20\n", "2:3", "is no place in a scan"),
    ("reel,first,last\n1,1.5,20\n", "2:3", "is no place in a scan"),
    ("reel,first,last\n1,99999999999,20\n", "2:3", "is no place in a scan"),
    ("reel,first,last\n1,30,20\n", "2:6", "ends before it begins"),
    ("reel,first,last\n7,30,40\n", "2:1", 'no reel "7"'),
    ("reel,first,last\n,30,40\n", "2:1", "names no reel"),
    ("reel,first,last,kind\n1,30,40,poem\n", "2:9", "is no kind"),
    ("reel,first,last\n1,30,40,50\n", "2:9", "more cells than the 3 columns"),
    ('reel,first,last,name\n1,30,40,"open\n', "2:9", "a quoted cell does not end"),
    ("reel,first,last\n1,30,40\n1,35,50\n", "3:3", "lie over frames 30-40"),
    ("reel,first,last\n1,0+10,0+16\n", "2:8", "16 frames beyond whole feet"),
    ("reel,first,last\n1,1+00,40\n", "2:8", "keep to one"),
    ("reel,in,out\n1,00:00:01:00,00:00:02:30\n", "2:15", "does not exist at 24"),
    ("reel,first,last,shot\n1,30,40,1/4\n", "2:3", "is no name of a shot"),
    ("reel,first\n2,30\n", "2:3", "where the last shot of reel 2 ends"),
    ("reel,first\n1,400\n", "2:3", "behind the reel's last frame, 334"),
    ("reel,first,last\n1,\x00,3\n", "2:3", "U+0000"),
]


@pytest.mark.parametrize(("text", "place", "words"), TABLES)
@pytest.mark.parametrize("tabs", [False, True])
def test_a_malformed_table_is_told_at_its_place(
    text: str,
    place: str,
    words: str,
    tabs: bool,  # noqa: FBT001
) -> None:
    name = "cuts.tsv" if tabs else "cuts.csv"
    data = text.replace(",", "\t") if tabs else text
    said = errors(data.encode(), name, Terms(rate=Rate(Fraction(24)), reels=OURS))
    at = f"{name}:{place}: " if place else f"{name}: "

    assert any(one.startswith(at) and words in one for one in said), said


OTHERWISE_DIVIDED = [
    ("reel;first;last\n1;18;57\n", "cuts.csv", "divided by commas", "here are semicolons"),
    ("reel;first;last\n1;18;57\n", "cuts.tsv", "divided by tabs", "here are semicolons"),
    ("reel\tfirst\tlast\n1\t18\t57\n", "cuts.csv", "divided by commas", "here are tabs"),
    ("reel,first,last\n1,18,57\n", "cuts.tsv", "divided by tabs", "here are commas"),
]


@pytest.mark.parametrize(("text", "name", "divided", "found"), OTHERWISE_DIVIDED)
def test_what_divides_columns_is_told_where_something_else_does(
    text: str, name: str, divided: str, found: str
) -> None:
    (said,) = errors(text.encode(), name, Terms(rate=Rate(Fraction(24)), reels=OURS))

    assert said.startswith(f"{name}:1:1: no column says where a shot begins")
    assert divided in said
    assert said.endswith(found)


PLAIN: list[tuple[str, str, str]] = [
    ("", "", "there is no shot"),
    ("# nothing\n\n", "", "there is no shot"),
    ("18\n", "1:1", "nothing says which reel this is of"),
    ("reel 9\n18\n", "1:6", 'no reel "9"'),
    ("reel 1\nthe sea wall\n", "2:1", "begins with no place"),
    ("reel 1\n40 30\n", "2:4", "ends before it begins"),
    ("reel 1\n18\n1+04\n", "3:1", "keep to one"),
    ("reel 1\n00:00:01:99\n", "2:1", "does not exist at 24"),
    ("reel 1\n1+17\n", "2:1", "17 frames beyond whole feet"),
    ("reel 2\n30\n", "2:1", "where the last shot of reel 2 ends"),
    ("reel 1\n18 40\n30 50\n", "3:1", "lie over frames 18-40"),
    ("reel 1\n999999999999\n", "2:1", "is no place in a scan"),
]


@pytest.mark.parametrize(("text", "place", "words"), PLAIN)
def test_a_malformed_plain_list_is_told_at_its_place(text: str, place: str, words: str) -> None:
    said = errors(text.encode(), "cuts.txt", Terms(rate=Rate(Fraction(24)), reels=OURS))
    at = f"cuts.txt:{place}: " if place else "cuts.txt: "

    assert any(one.startswith(at) and words in one for one in said), said


def test_labels_need_a_rate_and_feet_a_gauge() -> None:
    unrated = errors(b"reel 1\n00:00:01:00 00:00:02:00\n", "cuts.txt", Terms())
    ungauged = errors(b"reel 1\n1+00 2+00\n", "cuts.txt", Terms())

    assert any("cuts.txt:2:1: " in one and "needs to know the rate" in one for one in unrated)
    assert any("cuts.txt:2:1: " in one and "needs to know the gauge" in one for one in ungauged)


def test_a_reel_that_no_map_could_name_is_told() -> None:
    line = "001 scans/one V C 00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"
    said = errors(line.encode(), "cuts.edl", Terms(rate=Rate(Fraction(24))))

    assert any('cuts.edl:1:5: "scans/one" is no name of a reel' in one for one in said), said


def test_a_label_before_the_scan_is_told() -> None:
    terms = Terms(rate=Rate(Fraction(24)), reels=OURS, starts={"1": "01:00:00:00"})
    said = errors(ONE.encode(), "cuts.edl", terms)

    assert any("cuts.edl:1:6: this lies 86376 frames before the scan" in one for one in said), said


@pytest.mark.parametrize("name", ["cuts.edl", "cuts.csv", "cuts.tsv", "cuts.txt", "cuts.otio"])
@pytest.mark.parametrize("seed", range(6))
def test_binary_junk_is_told_and_never_read(name: str, seed: int) -> None:
    junk = random.Random(seed).randbytes(4000)  # noqa: S311 - junk is to be the same every time
    said = errors(junk, name, Terms(rate=Rate(Fraction(24)), reels=OURS))

    assert said
    assert all(one.startswith(f"{name}:") for one in said)


@pytest.mark.parametrize("seed", range(40))
def test_a_list_with_letters_changed_is_read_or_told(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311
    text = list(ONE + "M2 001 024.0 00:00:01:00\n* FROM CLIP NAME: A\n" + TWO)
    for _ in range(chance.randint(1, 6)):
        text[chance.randrange(len(text))] = chance.choice("0:;.*MDWK \t\n-+é9")
    said = errors("".join(text).encode(), "cuts.edl", Terms(rate=DROPPING, reels=OURS))

    assert all(one.startswith("cuts.edl:") for one in said)
    assert len(said) == len(set(said))


LETTERS = '0123456789:;.+-*,\t\n "#=VCDWKBOreltim2é'


@settings(max_examples=200, deadline=None)
@given(
    st.text(LETTERS, max_size=80),
    st.sampled_from(["cuts.edl", "cuts.csv", "cuts.tsv", "cuts.txt"]),
    st.sampled_from(["", ONE, "reel,first,last,length,kind\n", "reel 1\n", "in,out,shot\n"]),
)
def test_whatever_is_written_is_read_or_told(text: str, name: str, before: str) -> None:
    said = errors((before + text).encode(), name, Terms(rate=DROPPING, reels=OURS, only="1"))

    assert all(one.startswith(f"{name}:") for one in said)


def test_faults_are_all_told_but_not_without_end() -> None:
    some = errors((event(i="x") * 3).encode(), "cuts.edl", Terms(rate=DROPPING, reels=OURS))
    many = errors((event(i="x") * 5000).encode(), "cuts.edl", Terms(rate=DROPPING, reels=OURS))

    assert 3 == len(some)
    assert 200 < len(many) < 300
