"""Subtitle files are read whole, and written again with nothing changed but their times."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from subtitling import READERS, WRITERS, Title, identity, read_by_ffmpeg, steady, titles

from retime.errors import DocumentError, OutputError
from retime.findings import Severity
from retime.follow.cues import shifted
from retime.follow.retiming import RetimeLimits, retimed
from retime.follow.subtitle_document import SubtitleDocument, SubtitleKind
from retime.follow.subtitle_files import MOST_BYTES, read_subtitles, subtitles_in
from retime.follow.subtitles_list import film_cues_in

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.follow.cues import Cue

SRT, VTT, ASS, TTML = SubtitleKind.SRT, SubtitleKind.VTT, SubtitleKind.ASS, SubtitleKind.TTML
kinds = st.sampled_from(SubtitleKind)
PATH = Path("tidewatcher")


def read(text: str, kind: SubtitleKind) -> SubtitleDocument:
    return subtitles_in(text.encode(), PATH, kind)


def written(document: SubtitleDocument, cues: Sequence[Cue]) -> str:
    return document.encoded(cues).decode()


def seconds(ms: int) -> Fraction:
    return Fraction(ms, 1000)


@settings(max_examples=50, deadline=None)
@given(titles(), kinds)
def test_a_file_is_read_as_it_was_written(made: list[Title], kind: SubtitleKind) -> None:
    document = read(WRITERS[kind](made), kind)

    assert made == [
        Title(int(cue.begin * 1000), int(cue.end * 1000), cue.text) for cue in document.cues
    ]
    assert () == document.findings


@settings(max_examples=50, deadline=None)
@given(
    titles(),
    kinds,
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16-le", "utf-16-be"]),
)
def test_the_identity_leaves_every_byte(
    made: list[Title], kind: SubtitleKind, line_break: str, codec: str
) -> None:
    text = WRITERS[kind](made).replace("\r\n", "\n").replace("\n", line_break)
    if codec.startswith("utf-16"):
        codec = codec if kind is not VTT else "utf-8"  # WebVTT has no other
        text = text.replace('encoding="UTF-8"', 'encoding="UTF-16"')
    marks = {"utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}
    data = marks.get(codec, b"") + text.encode(codec)
    if codec == "utf-8":
        data = data.replace(b"UTF-16", b"UTF-8")
    document = subtitles_in(data, PATH, kind)
    limits = RetimeLimits(gap=Fraction(1, 12), shortest=Fraction(1, 24), slack=Fraction(1, 2000))
    cues, findings = retimed(document.cues, identity(seconds(made[-1].end)), limits)

    assert () == findings
    assert document.cues == cues
    assert data == document.encoded(cues)


@settings(max_examples=40, deadline=None)
@given(titles(), kinds)
def test_other_readers_find_the_new_times_and_the_old_words(
    made: list[Title], kind: SubtitleKind
) -> None:
    """pysubs2 and webvtt-py read SRT, ASS, TTML and WebVTT; 20 fps at 24 lasts 5/6."""
    document = read(WRITERS[kind](made), kind)
    end = seconds(made[-1].end) * Fraction(5, 6)
    cues, _ = retimed(document.cues, steady(Fraction(6, 5), end), RetimeLimits())
    step = 10 if kind is ASS else 1

    def new(ms: int) -> int:
        return (2 * 5 * ms + 6 * step) // (2 * 6 * step) * step  # floor(x + 1/2) in whole steps

    expected = [Title(new(begin), new(stop), words) for begin, stop, words in made]
    assert expected == READERS[kind](written(document, cues))


@pytest.mark.parametrize(("kind", "ending"), [(SRT, "srt"), (VTT, "vtt"), (ASS, "ass")])
def test_the_ffmpeg_program_finds_the_new_times_and_the_old_words(
    kind: SubtitleKind, ending: str, tmp_path: Path
) -> None:
    made = [
        Title(1000, 4000, "The lamp\nis lit"),
        Title(4000, 7210, "Ebb"),
        Title(3_599_990, 3_603_500, "Flut über allem"),
    ]
    document = read(WRITERS[kind](made), kind)
    end = Fraction(3603.5) * Fraction(6, 5)
    cues, _ = retimed(document.cues, steady(Fraction(5, 6), end), RetimeLimits())
    path = tmp_path / f"tide.{ending}"
    document.write(path, cues)

    assert [
        Title(1200, 4800, "The lamp\nis lit"),
        Title(4800, 8650 if kind is ASS else 8652, "Ebb"),
        Title(4_319_990 if kind is ASS else 4_319_988, 4_324_200, "Flut über allem"),
    ] == read_by_ffmpeg(path)


@pytest.mark.parametrize("kind", [SRT, VTT, TTML])
def test_times_are_rounded_half_up_to_the_millisecond(kind: SubtitleKind) -> None:
    document = read(WRITERS[kind]([Title(1000, 1990, "x")]), kind)
    cue = replace(document.cues[0], begin=Fraction("1.0045"), end=Fraction("2.00049"))

    assert [Title(1005, 2000, "x")] == READERS[kind](written(document, [cue]))


def test_times_are_rounded_half_up_to_the_hundredth_in_ass() -> None:
    document = read(WRITERS[ASS]([Title(1000, 1990, "x")]), ASS)
    cue = replace(document.cues[0], begin=Fraction("1.005"), end=Fraction("1.9949"))

    assert [Title(1010, 1990, "x")] == READERS[ASS](written(document, [cue]))


VTT_TEXT = """WEBVTT - The Tidewatcher's Lamp

STYLE
::cue(.low) { color: #fff }

REGION
id:fred width:40%

NOTE
a note
of two lines

scene 1
00:01.000 --> 00:03.000 region:fred line:0 position:20%,line-left
<v.loud Ada>The <00:02.000><c.low>lamp</c> &amp; I &lt;3</v>

NOTE before the second

1:00:00.000 --> 1:00:02.500
Two
"""


def test_webvtt_keeps_settings_voices_notes_styles_regions_and_carries_timestamps() -> None:
    document = read(VTT_TEXT.replace("1:00:0", "01:00:0"), VTT)
    assert [(Fraction(2),), ()] == [cue.inner for cue in document.cues]
    assert "The lamp & I <3" == document.cues[0].text
    cues, findings = retimed(document.cues, steady(Fraction(1, 2), Fraction(7205)), RetimeLimits())
    expected = (
        VTT_TEXT.replace("1:00:00.000 --> 1:00:02.500", "02:00:00.000 --> 02:00:05.000")
        .replace("00:01.000 --> 00:03.000", "00:02.000 --> 00:06.000")
        .replace("<00:02.000>", "<00:04.000>")
    )

    assert () == findings
    assert expected == written(document, cues)


def test_a_short_webvtt_time_gets_its_hour_when_it_needs_one() -> None:
    document = read("WEBVTT\n\n59:59.000 --> 59:59.900\nx\n", VTT)
    later = shifted(document.cues, Fraction(1, 2))

    assert "WEBVTT\n\n59:59.500 --> 01:00:00.400\nx\n" == written(document, later)


TTML_TEXT = """<?xml version='1.0' encoding="utf-8"?>
<!-- kept -->
<tt xmlns="http://www.w3.org/ns/ttml" xmlns:ttp="http://www.w3.org/ns/ttml#parameter"
    xmlns:ttm="http://www.w3.org/ns/ttml#metadata"
    ttp:frameRate="24" ttp:frameRateMultiplier="1000 1001" ttp:tickRate="10000000">
  <head><layout><region xml:id="r"/></layout></head>
  <body begin="0s"><div>
    <p xml:id="a" begin = '00:00:01.000' dur="2.000s" region="r">The
       lämp<br/>is <ttm:desc>not said</ttm:desc>lit &amp; <span begin="500ms" end="1.5s">red<span begin="100ms" dur="0.2s"/></span></p>
    <p><span begin="40000000t" end="00:00:05:12">Ebb</span> and <span begin="6s" end="144f">x</span></p>
  </div></body>
</tt>
"""  # noqa: E501 - white space is the point


def test_ttml_reads_every_kind_of_time_and_keeps_everything_else() -> None:
    """Times after "Timed Text Markup Language 1", sections 6.2.4 to 6.2.11 and 10.3.1."""
    document = read(TTML_TEXT, TTML)
    frames = Fraction(1001, 24000)

    assert [
        (1, 3, Fraction("1.5"), Fraction("2.5"), Fraction("1.6"), Fraction("1.8")),
        (4, 5 + 12 * frames),
        (6, 144 * frames),
    ] == [tuple(cue.times) for cue in document.cues]
    assert ["The lämp\nis lit & red", "Ebb", "x"] == [cue.text for cue in document.cues]
    assert TTML_TEXT == written(document, document.cues)

    doubled, _ = retimed(document.cues, steady(Fraction(1, 2), Fraction(14)), RetimeLimits())
    expected = (
        TTML_TEXT.replace("'00:00:01.000' dur=\"2.000s\"", "'00:00:02.000' dur=\"4.000s\"")
        .replace('begin="500ms" end="1.5s"', 'begin="1000ms" end="3.000s"')
        .replace('begin="100ms" dur="0.2s"', 'begin="200ms" dur="0.400s"')
        .replace("40000000t", "80000000t")
        .replace("00:00:05:12", "00:00:11.001")
        .replace('"6s" end="144f"', '"12.000s" end="00:00:12.012"')
    )
    assert expected == written(document, doubled)


def test_a_duration_is_counted_from_where_the_begin_is_written() -> None:
    """0.3336 s to 0.6672 s are written as 334 and 667 ms, so the duration as 333 and not 334."""
    text = '<tt xmlns="http://www.w3.org/ns/ttml"><body><div><p {}>x</p></div></body></tt>'
    document = read(text.format('dur="1000ms" begin="1.000s"'), TTML)
    cue = replace(document.cues[0], begin=Fraction("0.3336"), end=Fraction("0.6672"))

    assert text.format('dur="333ms" begin="0.334s"') == written(document, [cue])


ASS_TEXT = r"""[Script Info]
Title: Lamp
ScriptType: v4.00+

[V4+ Styles]
Format: Name, Fontname, Fontsize
Style: Default,Gentium,40

[Fonts]
fontname: gentium.ttf
!!Dialogue: not an event

[Events]
; kept
Format: Layer, End, Start, Style, Text
Dialogue: 0, 0:00:03.00 ,0:00:01.00,Default,The {\an8\i1}lamp{\i0}, and\NI\hsee
Comment: 0,0:00:05.00,0:00:04.00,Default,remember {\k50}
Dialogue: 1,0:00:07.00,0:00:06.00,Default,{\p1}m 0 0 l 9 9{\p0}
"""


def test_ass_minds_the_format_line_and_keeps_comments_fonts_and_overrides() -> None:
    document = read(ASS_TEXT, ASS)

    assert [1, 4, 6] == [cue.begin for cue in document.cues]
    assert [3, 5, 7] == [cue.end for cue in document.cues]
    assert ["The lamp, and\nI see", "remember ", ""] == [cue.text for cue in document.cues]
    assert [False, True, False] == [cue.hidden for cue in document.cues]
    assert [(17, "ass-override")] == [
        (finding.place.order[1], finding.rule) for finding in document.findings
    ]
    moved = shifted(document.cues, Fraction("0.504"))
    assert re.sub(r"(0:00:0[1-7])\.00", r"\1.50", ASS_TEXT) == written(document, moved)


def test_srt_is_read_with_points_without_numbers_and_with_odd_lines_kept() -> None:
    text = (
        "\ufeff00:00:01.000-->00:00:02.000 X1:5\n{\\an8}<font color='red'>No</font> a < b --> c\n"
        "00:00:02,500 -->  00:00:03,500\n\n7\n00:00:04,000 --> 00:00:05,000\nLast"
    )
    document = read(text, SRT)

    assert ["No a < b --> c", "", "Last"] == [cue.text for cue in document.cues]
    assert [1, 3, 6] == [cue.place.line for cue in document.cues]
    assert text == written(document, document.cues)
    moved = shifted(document.cues, Fraction(3600))
    assert text.replace("00:00:0", "01:00:0") == written(document, moved)


@pytest.mark.parametrize("kind", SubtitleKind)
def test_a_cue_that_is_left_out_takes_nothing_else_with_it(kind: SubtitleKind) -> None:
    made = [Title(1000 * at, 1000 * at + 500, f"word {at}") for at in range(4)]
    document = read(WRITERS[kind](made), kind)
    for left_out in ([0], [1], [3], [0, 1], [1, 2], [2, 3], [0, 1, 2, 3]):
        kept = [cue for cue in document.cues if cue.index not in left_out]
        text = written(document, kept)
        assert [made[cue.index] for cue in kept] == READERS[kind](text)
        assert document.text.count("NOTE") == text.count("NOTE")
        assert not text.startswith(("\n", "\r"))


def test_numbers_stay_when_a_cue_is_left_out_and_are_counted_anew_when_cues_move() -> None:
    text = "".join(f"{at}\n00:00:0{at},000 --> 00:00:0{at},500\nword {at}\n\n" for at in (5, 6, 7))
    document = read(text, SRT)
    first, second, third = document.cues

    assert "5\n00:00:05,000 --> 00:00:05,500\nword 5\n\n7\n" in written(document, [first, third])
    assert (
        "1\n00:00:07,000 --> 00:00:07,500\nword 7\n\n"
        "2\n00:00:05,000 --> 00:00:05,500\nword 5\n\n"
        "3\n00:00:06,000 --> 00:00:06,500\nword 6\n\n"
    ) == written(document, [third, first, second])


@pytest.mark.parametrize("kind", SubtitleKind)
def test_a_cue_that_stands_twice_is_written_twice(kind: SubtitleKind) -> None:
    made = [Title(1000 * at, 1000 * at + 500, f"word {at}") for at in range(3)]
    document = read(WRITERS[kind](made), kind)
    again = shifted(document.cues[:1], Fraction(9))
    text = written(document, [*document.cues, *again])
    found = READERS[kind](text)

    assert sorted([*made, Title(9000, 9500, "word 0")]) == sorted(found)
    if kind is VTT:
        assert 1 == text.count("scene-0\n")  # an identifier is one cue's
    if kind is TTML:
        assert 1 == text.count('xml:id="c0"')


def test_cues_out_of_order_and_overlaps_are_told_at_their_lines_and_kept() -> None:
    text = (
        "1\n00:00:05,000 --> 00:00:07,000\nLate\n\n2\n00:00:01,000 --> 00:00:02,000\nEarly\n\n"
        "3\n00:00:06,500 --> 00:00:06,500\nOver\n"
    )
    document = read(text, SRT)

    assert [
        (6, "cue-order", '"Early" begins at 0:00:01.000, before the cue above it'),
        (10, "cue-overlap", '"Over" begins 0:00:00.500 before "Late" ends'),
        (10, "cue-length", '"Over" ends when it begins'),
    ] == [(one.place.order[1], one.rule, one.text) for one in document.findings]
    assert text == written(document, document.cues)


def test_a_flood_of_warnings_is_counted_and_not_listed() -> None:
    made = [Title(0, 9000, "x")] * 50
    found = read(WRITERS[SRT](made), SRT).findings

    assert 21 == len(found)
    assert "there are 29 more cues that overlap" == found[-1].text


def test_files_are_read_by_their_endings(tmp_path: Path) -> None:
    made = [Title(0, 1000, "x")]
    for ending, kind in {
        "srt": SRT, "SRT": SRT, "vtt": VTT, "ass": ASS, "ttml": TTML, "xml": TTML, "dfxp": TTML,
    }.items():  # fmt: skip
        path = tmp_path / f"a.{ending}"
        path.write_text(WRITERS[kind](made), encoding="utf-8")
        assert kind is read_subtitles(path).kind
    path = tmp_path / "a.txt"
    path.write_text(WRITERS[SRT](made), encoding="utf-8")
    assert SRT is read_subtitles(path, SRT).kind
    with pytest.raises(DocumentError, match=r'a.txt: the ending ".txt" names no kind'):
        read_subtitles(path)


def test_a_file_that_cannot_be_opened_or_is_too_large_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match=r"b.srt: the file cannot be read"):
        read_subtitles(tmp_path / "b.srt")
    path = tmp_path / "c.srt"
    path.write_bytes(b"\n" * (MOST_BYTES + 1))
    with pytest.raises(DocumentError, match=r"c.srt: the file is larger than 10 MB"):
        read_subtitles(path)
    document = read(WRITERS[SRT]([Title(0, 1000, "x")]), SRT)
    with pytest.raises(OutputError, match="cannot be written"):
        document.write(tmp_path / "no" / "d.srt", document.cues)


LINE = "00:00:01,000 --> 00:00:02,000"
CUE = f"1\n{LINE}\nx\n\n"
HEAD = "WEBVTT\n\n"
VLINE = "00:01.000 --> 00:02.000"
EVENTS = "[Events]\nFormat: Start, End, Text\n"
TT = '<tt xmlns="http://www.w3.org/ns/ttml"><body><div>\n{}\n</div></body></tt>'


def p(times: str) -> str:
    return TT.format(f"<p {times}>x</p>")


BAD: list[tuple[SubtitleKind, str | bytes, str]] = [
    (SRT, "", "1:1: there is no cue in the file"),
    (SRT, "1\n\n", "1:1: there is no cue in the file"),
    (SRT, "words\n\n" + CUE, '1:1: "words" is part of no cue'),
    (SRT, "1\n00:00:01,000 00:00:02,000\nx\n", "2:1: no arrow --> stands between the times"),
    (SRT, CUE + "2\n00:00:03,000 -> 00:00:04,000\ny\n", "6:1: no arrow --> stands between"),
    (SRT, CUE + "2\nJust words\n", '6:1: after the number "2" comes no line of times'),
    (SRT, "1\n00:00:0x,000 --> 00:00:02,000\n", '2:1: "00:00:0x,000" is no time'),
    (SRT, "1\n00:00:01,000 --> 00:00:61,000\n", '2:18: "00:00:61,000" is no time: minutes'),
    (SRT, "1\n00:60:01,000 --> 00:61:01,000\n", '2:1: "00:60:01,000" is no time: minutes'),
    (SRT, "1\n00:00:01,000 -->\nx\n", '2:17: "" is no time'),
    (SRT, "1\n  00:00:01,5 --> 00:00:02,000\n", '2:3: "00:00:01,5" is no time'),
    (SRT, "1\n00:00:01,000 --> 00:00:02,0000\n", '2:18: "00:00:02,0000" is no time'),
    (SRT, "1\n-00:00:01,000 --> 00:00:02,000\n", '2:1: "-00:00:01,000" is no time'),
    (SRT, "1\n00:01,000 --> 00:02,000\n", '2:1: "00:01,000" is no time'),
    (SRT, "1\n00:00:03,000 --> 00:00:02,000\n", "2:18: the cue ends before it begins"),
    (
        SRT,
        "1\n\u0660\u0660:00:01,000 --> 00:00:02,000\n",
        '2:1: "\u0660\u0660:00:01,000" is no time',
    ),
    (SRT, HEAD + VLINE + "\nx\n", "1:1: this is WebVTT and no SRT"),
    (SRT, b"1\n00:00:01,000 --> 00:00:02,000\nM\xfcde\n", "3:2: the byte 0xfc is not UTF-8"),
    (SRT, b"\xff\xfe1\x00\n\x00\x00\xd8", "2:1: what stands here is not UTF-16"),
    (SRT, CUE.encode("utf-16-le"), "1:2: a zero byte is no text"),
    (SRT, CUE.encode("utf-32"), "1:1: the file is UTF-32"),
    (VTT, CUE, "1:1: the first line does not say that this is WebVTT"),
    (VTT, "WEBVTTX\n\n", "1:1: the first line does not say"),
    (VTT, "WEBVTT\n", "1:1: there is no cue in the file"),
    (VTT, f"WEBVTT\n{VLINE}\nx\n", "2:1: no empty line stands between the head and the first cue"),
    (VTT, f"{HEAD}00:01,000 --> 00:02.000\nx\n", '3:1: "00:01,000" is no time'),
    (VTT, f"{HEAD}1:00:01.000 --> 1:00:02.000\nx\n", '3:1: "1:00:01.000" is no time'),
    (VTT, f"{HEAD}00:02.000 --> 00:01.000\nx\n", "3:15: the cue ends before it begins"),
    (VTT, f"{HEAD}id\n00:02.000 -> 00:03.000\nx\n", '3:1: "id" begins neither a cue nor a note'),
    (VTT, f"{HEAD}{VLINE}\nx\n\nmore words\n", '6:1: "more words" begins neither'),
    (VTT, f"{HEAD}{VLINE}\nx\n{VLINE}\ny\n", "5:1: --> stands among words"),
    (VTT, b"\xff\xfe" + (HEAD + VLINE).encode("utf-16-le"), "1:1: WebVTT is written in UTF-8"),
    (ASS, CUE, r"1:1: there is no section \[Events\]"),
    (ASS, EVENTS, "1:1: there is no Dialogue line"),
    (ASS, "[Events]\nDialogue: 0:00:01.00,0:00:02.00,x\n", "2:1: no Format line above"),
    (ASS, "[Events]\nFormat: Start, Text\n", "2:1: the fields lack end"),
    (ASS, "[Events]\nFormat: Text, Start, End\n", "2:1: Text is not the last field"),
    (ASS, EVENTS + "Dialogue: 0:00:01.00,0:00:02.00\n", "3:1: the line has 2 fields, and not 3"),
    (ASS, EVENTS + "Dialogue: 0:00:01.0,0:00:02.00,x\n", '3:11: "0:00:01.0" is no time'),
    (ASS, EVENTS + "Dialogue: 0:00:03.00, 0:00:02.00,x\n", "3:23: the cue ends before it begins"),
    (ASS, EVENTS + "Dialogu: 0:00:01.00,0:00:02.00,x\n", "3:1: .* is no line of .*Dialogue"),
    (TTML, "<tt>", '1:1: this is a document of "tt", and no TTML'),
    (TTML, TT.format("<p>"), "3:3: this is not XML: mismatched tag"),
    (TTML, "<!DOCTYPE tt><tt/>", "1:1: a document type is not read"),
    (TTML, p('begin="1s"'), "2:1: this <p> has no end"),
    (TTML, p('end="1s"'), "2:1: this <p> has no begin"),
    (TTML, p('begin="1s" end="soon"'), '2:20: "soon" is no time'),
    (TTML, p('begin="00:01" end="2s"'), '2:11: "00:01" is no time'),
    (TTML, p('begin="1f" end="2s"'), '2:11: "1f" counts frames, and the document states no'),
    (TTML, p('begin="3s" end="2s"'), "2:20: the cue ends before it begins"),
    (TTML, p('begin="1s" end="2s" timeContainer="seq"'), "2:1: times in a sequence"),
    (TTML, p(""), "1:1: there is no cue in the document"),
    (TTML, p('begin="1s" end="2s"').replace("<div>", '<div dur="9s">'), "1:55: dur stands at a"),
    (TTML, '<?xml version="1.0" encoding="latin-1"?>' + p('begin="1s" end="2s"'), "1:1: .*latin-1"),
    (
        TTML,
        p('begin="1s" end="2s"').replace(
            "<tt", '<tt xmlns:ttp="http://www.w3.org/ns/ttml#parameter" ttp:timeBase="smpte"'
        ),
        '1:1: times are those of "smpte"',
    ),
]


@pytest.mark.parametrize(("kind", "text", "message"), BAD, ids=[str(n) for n in range(len(BAD))])
def test_a_mistake_is_told_with_its_line_and_column(
    kind: SubtitleKind, text: str | bytes, message: str
) -> None:
    data = text if isinstance(text, bytes) else text.encode()

    with pytest.raises(DocumentError, match=rf"(?m)^{PATH}:{message}"):
        subtitles_in(data, PATH, kind)


def test_all_mistakes_of_a_file_are_told_at_once_up_to_a_hundred() -> None:
    text = "1\n00:00:0x,000 --> 00:00:0y,000\n\n2\nno times\n\n" + CUE

    with pytest.raises(DocumentError) as raised:
        read(CUE + text, SRT)
    errors = [one for one in raised.value.findings if one.severity is Severity.ERROR]
    assert [(6, 1), (6, 18), (9, 1)] == [one.place.order[1:] for one in errors]
    with pytest.raises(DocumentError) as raised:
        read("-->\n\n" * 200, SRT)
    assert 101 == len(raised.value.findings)
    assert "after 100 mistakes" in str(raised.value)


@settings(max_examples=150, deadline=None)
@given(titles(most=3), kinds, st.data())
def test_a_damaged_file_is_read_or_refused_with_places(
    made: list[Title], kind: SubtitleKind, data: st.DataObject
) -> None:
    """Any damage either leaves a file that is read and written whole, or is a located error."""
    whole = WRITERS[kind](made).encode()
    at = data.draw(st.integers(0, len(whole)))
    stop = data.draw(st.integers(at, min(len(whole), at + 30)))
    damaged = whole[:at] + data.draw(st.binary(max_size=4)) + whole[stop:]
    try:
        document = subtitles_in(damaged, PATH, kind)
    except DocumentError as error:
        findings = error.findings
    else:
        findings = document.findings
        assert damaged == document.encoded(document.cues)
        assert document.encoded(shifted(document.cues, Fraction(1)))
    assert all(one.place.order[1] for one in findings)


LIST = 'reel,first,last,text\n1,24,71,"The lamp, ""lit"""\n2,0,9,"Ebb\nand flood"\n'


def test_a_list_of_film_frames_is_read() -> None:
    found = film_cues_in(LIST.encode(), PATH)

    assert [
        ("1", 24, 71, 'The lamp, "lit"'),
        ("2", 0, 9, "Ebb\nand flood"),
    ] == [(cue.reel, cue.first, cue.last, cue.text) for cue in found.cues]
    assert [2, 3] == [cue.place.line for cue in found.cues]


BAD_LISTS = [
    ("", "1:1: the list is empty"),
    ("reel,first,last,text\n", "1:1: there is no cue in the list"),
    ("reel,first,last\n1,2,3\n", '1:1: there is no column "text"'),
    ("reel,first,last,txt\n", '1:17: unknown column "txt"; did you mean "text"'),
    ("reel,first,first,last,text\n", '1:12: the column "first" stands here twice'),
    ("reel,first,last,text\n1,2,x,y\n", '2:5: "x" is no film frame'),
    ("reel,first,last,text\n1,-2,3,y\n", '2:3: "-2" is no film frame'),
    ("reel,first,last,text\n1,9,3,y\n", "2:5: the cue ends before its frame 9"),
    ("reel,first,last,text\n1,2,3,a,b\n", "2:9: the row has more cells than the 4 columns"),
    ("reel,first,last,text\n1,2,3\n", '2:1: the cell of "text" is empty'),
    ('reel,first,last,text\n1,2,3,"a\n', "2:7: a cell in quotes does not end"),
    ('reel,first,last,text\n1,2,3,"a\n\nb"\n', "2:8: the words of a cue hold no empty line"),
    ("reel,first,last,text\n1,2,3,a --> b\n", "2:7: the words of a cue hold no empty line"),
]


@pytest.mark.parametrize(("text", "message"), BAD_LISTS)
def test_a_mistake_in_a_list_is_told_with_its_line_and_column(text: str, message: str) -> None:
    with pytest.raises(DocumentError, match=rf"(?m)^{PATH}:{message}"):
        film_cues_in(text.encode(), PATH)
