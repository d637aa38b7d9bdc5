"""Hand-made EDLs of every kind of event are read to the frame.

The form is that of SMPTE ST 258:2004, Transfer of Edit Decision Lists, and of the CMX 3600 form
it grew from, both from memory; labels are reckoned by hand.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from listmaps import LIST, cuts, parsed

from retime.film.speed import Rate, Speed
from retime.findings import Severity
from retime.lists.collecting import collected
from retime.lists.edl_events import Effect, Span
from retime.lists.edl_shots import edl_shots
from retime.lists.terms import OurReel, Side, Terms

HOUR = 3600 * 24

EVERY_KIND = """\
TITLE: THE LAMP, REEL 1
FCM: NON-DROP FRAME

* MADE AT THE BENCH
001  BL       V     C        00:00:00:00 00:00:02:00 01:00:00:00 01:00:02:00
002  001      V     C        00:00:10:00 00:00:15:00 01:00:02:00 01:00:07:00
* FROM CLIP NAME: SKARROW POINT
003  001      V     C        00:00:15:00 00:00:15:00 01:00:07:00 01:00:07:00
003  002      V     D    024 00:01:00:00 00:01:05:00 01:00:07:00 01:00:12:00
* FROM CLIP NAME: SKARROW POINT
* TO CLIP NAME: THE SEA WALL
004  002      V     C        00:01:05:00 00:01:05:00 01:00:12:00 01:00:12:00
004  003      V     W001 012 00:02:00:00 00:02:02:00 01:00:12:00 01:00:14:00
005  001      V     KB       00:00:20:00 00:00:25:00 01:00:14:00 01:00:19:00
005  AX       V     K    030 00:00:00:00 00:00:05:00 01:00:14:00 01:00:19:00
006  001      V     K B  (F) 00:00:25:00 00:00:26:00 01:00:19:00 01:00:20:00
006  AX       V     K O  012 00:00:05:00 00:00:06:00 01:00:19:00 01:00:20:00
007  001      AA    C        00:00:30:00 00:00:31:00 01:00:14:00 01:00:15:00
008  001      B     C        00:00:31:00 00:00:32:00 01:00:20:00 01:00:21:00
009  001      A2/V  C        00:00:32:00 00:00:33:00 01:00:21:00 01:00:22:00
010  001      AA/V  C        00:00:33:00 00:00:34:00 01:00:22:00 01:00:23:00
011  001      NONE  C        00:00:33:00 00:00:34:00 01:00:22:00 01:00:23:00
SPLIT:    AUDIO DELAY=  00:00:00:05
"""


def test_every_kind_of_event_is_what_it_is() -> None:
    edl = parsed(EVERY_KIND)

    assert "THE LAMP, REEL 1" == edl.title
    assert ("MADE AT THE BENCH",) == edl.heading
    assert False is edl.drop
    assert ("SPLIT:    AUDIO DELAY=  00:00:00:05",) == edl.others
    assert () == edl.findings
    assert [
        (1, "BL", Effect.CUT, None),
        (2, "001", Effect.CUT, None),
        (3, "001", Effect.CUT, None),
        (3, "002", Effect.DISSOLVE, 24),
        (4, "002", Effect.CUT, None),
        (4, "003", Effect.WIPE, 12),
        (5, "001", Effect.KEY_BACKGROUND, None),
        (5, "AX", Effect.KEY, 30),
        (6, "001", Effect.KEY_BACKGROUND, None),
        (6, "AX", Effect.KEY_OUT, 12),
    ] == [(one.number, one.reel, one.effect, one.lasts) for one in edl.edits[:10]]
    assert 1 == edl.edits[5].wipe
    assert edl.edits[8].faded
    assert [False, True, True, True, False] == [one.has_picture for one in edl.edits[10:]]


def test_every_label_is_read_to_the_frame() -> None:
    edit = parsed(EVERY_KIND).edits[3]

    assert Span(60 * 24, 65 * 24) == edit.source
    assert Span(HOUR + 7 * 24, HOUR + 12 * 24) == edit.record


def test_events_are_gathered_by_their_number() -> None:
    assert [1, 1, 2, 2, 2, 2, 1, 1, 1, 1, 1] == [len(one) for one in parsed(EVERY_KIND).events()]


def test_remarks_belong_to_their_event_and_its_side() -> None:
    edits = parsed(EVERY_KIND).edits

    assert ("FROM CLIP NAME: SKARROW POINT",) == edits[1].remarks
    assert ("FROM CLIP NAME: SKARROW POINT",) == edits[2].remarks
    assert ("TO CLIP NAME: THE SEA WALL",) == edits[3].remarks


def test_shots_are_the_picture_of_reels_and_the_rest_is_told() -> None:
    ours = {name: OurReel(name=name) for name in ("1", "2", "3")}
    read = edl_shots(parsed(EVERY_KIND), LIST, Terms(reels=ours))
    shots, _ = collected([read], LIST, Terms(reels=ours))

    assert [
        ("1", 240, 359, "1", "SKARROW POINT"),
        ("1", 480, 599, "2", None),
        ("1", 600, 623, "3", None),
        ("1", 744, 767, "4", None),
        ("1", 768, 791, "5", None),
        ("1", 792, 815, "6", None),
        ("2", 1440, 1559, "1", "THE SEA WALL"),
        ("3", 2880, 2927, "1", None),
    ] == [(one.reel, one.first, one.last, one.shot, one.name) for one in cuts(shots)]
    told = [str(one) for one in read.findings]
    assert all(one.severity is Severity.WARNING for one in read.findings)
    assert any("the dissolve of 24 frames from 001" in one for one in told)
    assert any("the wipe of 12 frames from 002" in one for one in told)
    assert any("1 event of black not carried over" in one for one in told)
    assert any("2 keys not carried over" in one for one in told)
    assert any("2 events of sound alone not carried over" in one for one in told)


def test_letter_case_tabs_blanks_and_line_ends_do_not_matter() -> None:
    plain = (
        "TITLE: LAMP\nFCM: NON-DROP FRAME\n001  R1  V  D  012 {} {}\nM2   R1   018.0 {}\n".format(
            "00:00:10:00 00:00:11:12", "01:00:00:00 01:00:02:00", "00:00:10:00"
        )
    )
    wild = (
        "title:  LAMP  \r\nfcm: non-drop frame\r\n\r\n"
        "  001\tR1\tv\td\t012\t00:00:10:00\t00:00:11:12\t01:00:00:00\t01:00:02:00   \r\n"
        "m2\tR1\t18\t00:00:10:00\t\r\n\x1a"
    )
    one, other = parsed(plain), parsed(wild)

    assert one.title == other.title
    assert one.edits[0].source == other.edits[0].source == Span(240, 276)
    assert one.edits[0].record == other.edits[0].record
    assert one.edits[0].effect is other.edits[0].effect is Effect.DISSOLVE
    assert [Fraction(18)] * 2 == [
        edl.edits[0].speed and edl.edits[0].speed.speed for edl in (one, other)
    ]


def test_a_freeze_and_a_backward_run_name_their_frames() -> None:
    """Backward may be written up or down; either way it is the same frames."""
    text = """\
001  R1  V  C  00:00:10:00 00:00:10:01 01:00:00:00 01:00:02:00
M2   R1  000.0 00:00:10:00
002  R1  V  C  00:00:20:00 00:00:21:00 01:00:02:00 01:00:03:00
M2   R1  -024.0 00:00:20:23
003  R1  V  C  00:00:30:23 00:00:29:23 01:00:03:00 01:00:04:00
M2   R1  -024 00:00:30:23
"""
    edl = parsed(text)
    read = edl_shots(edl, LIST, Terms())

    assert () == edl.findings
    assert [(240, 240), (480, 503), (720, 743)] == [(one.first, one.last) for one in read.shots]
    assert read.shots[0].frozen
    assert [Fraction(0), Fraction(-24), Fraction(-24)] == [
        one.speed.speed for one in edl.edits if one.speed
    ]


def test_both_speed_lines_after_a_dissolve_find_their_clips() -> None:
    """As they stand after the pair, the outgoing picture's first, whatever their order."""
    pair = """\
001  R1  V  C        00:00:10:00 00:00:11:12 01:00:00:00 01:00:02:00
M2   R1     018.0    00:00:10:00
002  R1  V  C        00:00:11:12 00:00:11:12 01:00:02:00 01:00:02:00
002  R2  V  D    012 00:02:00:00 00:02:01:16 01:00:02:00 01:00:04:00
"""
    out, into = "M2   R1     018.0    00:00:11:12\n", "M2   R2     020.0    00:02:00:00\n"
    for lines in (out + into, into + out):
        edits = parsed(pair + lines).edits
        assert [Fraction(18), Fraction(18), Fraction(20)] == [
            one.speed and one.speed.speed for one in edits
        ]


def test_speed_lines_of_one_reel_go_by_their_labels() -> None:
    text = """\
002  R1  V  C        00:00:11:12 00:00:11:12 01:00:02:00 01:00:02:00
002  R1  V  D    012 00:02:00:00 00:02:01:16 01:00:02:00 01:00:04:00
M2   R1     020.0    00:02:00:00
M2   R1     018.0    00:00:11:12
"""
    assert [18, 20] == [one.speed and one.speed.speed for one in parsed(text).edits]


def test_drop_frame_goes_by_marks_and_else_by_the_lines_that_say_it() -> None:
    """01:00:00;00 is frame 107,892 of drop-frame, 108,000 of the other count (ST 12-1)."""
    line = "00{n}  R1  V  C  {i} {o} {ri} {ro}\n"
    zero, second = "00:00:00:00", "00:00:01:00"
    text = (
        "FCM: DROP FRAME\n"
        + line.format(n=1, i=zero, o=second, ri="01:00:00;00", ro="01:00:01;00")
        + line.format(n=2, i="01:00:00:00", o="01:00:01:00", ri="01:00:01:00", ro="01:00:02:00")
        + "FCM: NON-DROP FRAME\n"
        + line.format(n=3, i="01:00:00:00", o="01:00:01:00", ri="01:00:02:00", ro="01:00:03:00")
    )
    marked, dropping, mixed = parsed(text, "30000/1001").edits

    assert (Span(0, 30), Span(107_892, 107_922, True)) == (marked.source, marked.record)
    assert Span(107_892, 107_922, True) == dropping.source
    assert (Span(108_000, 108_030), Span(107_952, 107_982, True)) == (mixed.source, mixed.record)


def test_a_record_may_run_past_midnight() -> None:
    edit = parsed("001 R1 V C 00:00:00:00 00:00:02:00 23:59:59:00 00:00:01:00").edits[0]

    assert 48 == edit.record.frames


def test_a_reel_may_have_blanks_in_its_name() -> None:
    edit = parsed("001 REEL ONE V C 00:00:00:00 00:00:02:00 01:00:00:00 01:00:02:00").edits[0]

    assert ("REEL ONE", "V") == (edit.reel, edit.channel)


def test_a_wrong_source_out_is_told_with_the_right_one() -> None:
    """As a public writer has it: 240 source frames named for 180 at 18 in 24."""
    text = "001 R1 V C 00:00:00:00 00:00:10:00 01:00:00:00 01:00:07:12\nM2 R1 018.0 00:00:00:00\n"
    told = [str(one) for one in parsed(text).findings]

    expected = "180 record frames at 18 in 24 use 135 source frames, and the event names 240"
    assert [f"cuts.edl:1:24: warning: {expected}"] == told


def test_lines_in_words_are_kept_as_remarks_and_told() -> None:
    edl = parsed("001 R1 V C 00:00:00:00 00:00:02:00 01:00:00:00 01:00:02:00\nDLEDL: START TC: 1\n")

    assert ("DLEDL: START TC: 1",) == edl.edits[0].remarks
    assert "is taken as a remark" in str(edl.findings[0])


@pytest.mark.parametrize(
    ("side", "spans"), [(Side.SOURCE, [(0, 47), (480, 503)]), (Side.RECORD, [(0, 47), (48, 71)])]
)
def test_source_or_record_tells_the_frames(side: Side, spans: list[tuple[int, int]]) -> None:
    text = """\
001  R1  V  C  00:00:00:00 00:00:02:00 10:00:00:00 10:00:02:00
002  R1  V  C  00:00:20:00 00:00:21:00 10:00:02:00 10:00:03:00
"""
    start: dict[str | None, str] = {None: "10:00:00:00"} if side is Side.RECORD else {}
    terms = Terms(rate=parsed(text).rate, side=side, starts=start)
    read = edl_shots(parsed(text), LIST, terms)

    assert spans == [(one.first, one.last) for one in read.shots]


def test_a_transfer_that_repeats_frames_is_reckoned_by_its_speed() -> None:
    """18 in 25: film frame 90 begins 5 seconds in, at frame 125 of the transfer."""
    text = """\
001  R1  V  C  00:00:00:00 00:00:05:00 00:00:00:00 00:00:05:00
002  R1  V  C  00:00:05:00 00:00:10:00 00:00:05:00 00:00:10:00
"""
    rate = Rate(Fraction(25))
    terms = Terms(rate=rate, side=Side.RECORD, speed=Speed(Fraction(18)))
    read = edl_shots(parsed(text, 25), LIST, terms)

    assert [(0, 89), (90, 179)] == [(one.first, one.last) for one in read.shots]


def test_an_auxiliary_source_is_film_where_it_is_said_to_be_and_our_own_pictures_never() -> None:
    text = """\
001  AX  V  C  00:00:00:00 00:00:02:00 10:00:00:00 10:00:02:00
* PICTURE: NO FILM OF A SCAN
002  AX  V  C  00:00:20:00 00:00:21:00 10:00:02:00 10:00:03:00
"""
    for terms, spans in (
        (Terms(), []),
        (Terms(only="1"), [(480, 503)]),
        (Terms(called={"AX": "1"}), [(480, 503)]),
    ):
        read = edl_shots(parsed(text), LIST, terms)
        assert spans == [(one.first, one.last) for one in read.shots]
        assert any("1 picture of no film" in str(one) for one in read.findings)
