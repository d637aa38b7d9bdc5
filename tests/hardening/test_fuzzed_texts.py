"""Whatever a text has become, its reader ends in a value or in an error of ours, and soon."""

from __future__ import annotations

import pytest
from fuzz_limits import budget, ended_well
from hypothesis import given
from hypothesis import strategies as st
from mutations import made_of, rearranged, spoiled
from text_readers import READERS
from valid_texts import valid_texts

DOCUMENTS = ("map", "evidence", "profile", "cadence", "fingerprint", "otio")

MILLISECONDS = {"map": 12, "evidence": 30, "profile": 8, "otio": 10, "edl": 5, "fingerprint": 10}
"""What an example costs, roughly; 4 where nothing is said."""

COMMON = [
    " ",
    "  ",
    "\n",
    "\n",
    "\n\n",
    ",",
    ":",
    "-",
    "1",
    "2",
    "18",
    "00:00:01:00",
    "00:00:02:00",
]
WORDS = {
    "shots": ["reel", "first", "last", "shot", "kind", "name", "action", "title", '"', '""', "\r"],
    "edl": ["001", "002", "V", "C", "D", "012", "W001", "K", "KB", "KO", "BL", "AX", "M2", "018.0",
            "* FROM CLIP NAME: A", "* SHOT: 1", "FCM: ", "DROP FRAME", "TITLE: ", "00:00:01;02",
            "(F)", "SPLIT:", "AA/V", "NONE", "-024.0"],
    "otio": ["{", "}", "[", "]", '"OTIO_SCHEMA"', '"Timeline.1"', '"Clip.2"', '"Stack.1"', "null",
             '"tracks"', '"children"', '"Track.1"', "1e999", "NaN", '"name"', '"\\ud800"'],
    "table": ["reel", "first", "last", "in", "out", "length", "shot", "kind", "name", "39+14", '"'],
    "plain": ["reel ", "title ", "39+14", "#", "..", "+", ";", "reel 1\n", "reel 2:\n", "the reef"],
    "film cues": ["reel", "first", "last", "text", '"', '""', "-->"],
    "SRT": ["00:00:01,000", " --> ", "00:00:02,000", "<i>", "{\\an8}", "\r\n", "words"],
    "VTT": ["WEBVTT", "NOTE", "STYLE", "REGION", "00:01.000", " --> ", "00:02.000", "</v>", "<",
            "<v Ada>", "&lt;", "&#x110000;", "&#55296;", "<00:00:01.500>", "X-TIMESTAMP-MAP", ">"],
    "ASS": ["[Events]", "[Script Info]", "Format: ", "Layer, ", "Start, End, ", "Text", ";",
            "Dialogue: ", "Comment: ", "0:00:01.00", "0:00:02.00", "{\\k20}", "\\N", "Timer: "],
    "TTML": ["<p", "</p>", "<div>", "</div>", "<body>", "</body>", "</tt>", "<br/>", "<span ", ">",
             ' begin="1s"', ' end="2s"', ' dur="24f"', ' xml:id="a"', "&amp;", "<!--", "-->", "/>",
             "<![CDATA[", "]]>", ' timeContainer="seq"', "<?a ?>", " xmlns:a='b'", "a:begin='1s'"],
}  # fmt: skip
WORDS["tabs"] = ["\t", *WORDS["table"]]
HEADS = {
    "shots": ("", "reel,first,last,shot\n"),
    "edl": ("", "001  001      V     C        00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00\n"),
    "otio": ("", '{"OTIO_SCHEMA": "Timeline.1", "tracks": '),
    "table": ("", "reel,first,last,shot,kind,name\n", "reel,in,length\n"),
    "tabs": ("", "reel\tin\tout\n"),
    "plain": ("", "reel 1\n"),
    "film cues": ("", "reel,first,last,text\n"),
    "SRT": ("", "1\n00:00:01,000 --> 00:00:02,000\n"),
    "VTT": ("WEBVTT\n\n", "WEBVTT\n\n00:01.000 --> 00:02.000\n"),
    "ASS": ("[Events]\nFormat: Start, End, Text\nDialogue: 0:00:01.00,0:00:02.00,", "[Events]\n"),
    "TTML": ('<tt xmlns="http://www.w3.org/ns/ttml"><body><div><p begin="1s" end="2s">',
             '<tt xmlns="http://www.w3.org/ns/ttml"><body>'),
}  # fmt: skip


def drawn(kind: str) -> st.SearchStrategy[bytes]:
    """Return what is drawn for a kind: now and then something of quite another kind."""
    texts = valid_texts()
    every = tuple(text for one in texts.values() for text in one)
    own, odd = spoiled(texts[kind]), st.one_of(spoiled(every), st.binary(max_size=200))
    made = made_of((*COMMON, *WORDS[kind]), before=HEADS[kind]) if kind in WORDS else own
    if kind in DOCUMENTS:
        made = rearranged(texts[kind], as_json=kind == "otio") | made
    return st.one_of(own, own, own, made, made, made, odd)


@pytest.mark.parametrize("kind", READERS)
def test_what_is_valid_is_read(kind: str) -> None:
    for text in valid_texts()[kind]:
        error = ended_well(READERS[kind], text)
        assert error is None or kind == "profile", error  # only one profile has the file's name


@pytest.mark.parametrize("kind", READERS)
def test_whatever_a_text_has_become_it_is_read_or_refused_soon(kind: str) -> None:
    @budget(0.8 / len(READERS), MILLISECONDS.get(kind, 4))
    @given(drawn(kind))
    def reads(data: bytes) -> None:
        ended_well(READERS[kind], data)

    reads()
