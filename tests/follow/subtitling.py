"""Random subtitles written plainly in every format, and other programs that read them.

The writers here know nothing of the product; the readers are pysubs2, webvtt-py and the ffmpeg
program, each of which has its own idea of a subtitle file.
"""

from __future__ import annotations

import re
import subprocess
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

import imageio_ffmpeg
import pysubs2
import webvtt
from hypothesis import strategies as st

from retime.follow.subtitle_document import SubtitleKind
from retime.plan.timemap import Leg, TimeMap

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

__all__ = ["READERS", "WRITERS", "Title", "identity", "maps", "read_by_ffmpeg", "steady", "titles"]


class Title(NamedTuple):
    """A subtitle from ``begin`` to ``end``, in whole milliseconds."""

    begin: int
    end: int
    words: str


_LETTERS = "abcdefghijklmnopqrstuvwxyzäöüßéøABCDEFGHIJ"
_words = st.lists(st.text(_LETTERS, min_size=1, max_size=9), min_size=1, max_size=4).map(" ".join)
_texts = st.lists(_words, min_size=1, max_size=2).map("\n".join)


@st.composite
def titles(draw: st.DrawFn, *, most: int = 8, step: int = 10) -> list[Title]:
    """Draw titles that do not overlap, in order, some without a gap between them."""
    made: list[Title] = []
    at = 0
    for _ in range(draw(st.integers(1, most))):
        begin = at + step * draw(st.integers(0, 300) | st.integers(0, 12) | st.just(0))
        at = begin + step * draw(st.integers(4, 600))
        made.append(Title(begin, at, draw(_texts)))
    return made


def _clock(ms: int, mark: str, hours: int, places: int = 3) -> str:
    decimals = f"{ms % 1000:03}"[:places]
    return f"{ms // 3_600_000:0{hours}}:{ms // 60_000 % 60:02}:{ms // 1000 % 60:02}{mark}{decimals}"


def srt_text(cues: Sequence[Title]) -> str:
    blocks = [
        f"{number}\r\n{_clock(begin, ',', 2)} --> {_clock(end, ',', 2)} X1:9\r\n{words}\r\n\r\n"
        for number, (begin, end, words) in enumerate(cues, start=1)
    ]
    return "".join(blocks)


def vtt_text(cues: Sequence[Title]) -> str:
    head = "WEBVTT - the lamp\n\nSTYLE\n::cue(b) { color: red }\n\nREGION\nid:low width:40%\n"
    blocks = [
        f"\nNOTE of {number}\n\nscene-{number}\n{_clock(begin, '.', 2)} --> {_clock(end, '.', 2)}"
        f" region:low align:start\n<v Ada>{words}</v>\n"
        for number, (begin, end, words) in enumerate(cues)
    ]
    return head + "".join(blocks)


def ass_text(cues: Sequence[Title]) -> str:
    style = (
        "Style: Default,Gentium,40,&H00FFFFFF,&H000000FF,&H00000000,&H00000000,"
        "0,0,0,0,100,100,0,0,1,2,2,2,10,10,10,1"
    )
    head = (
        "[Script Info]\n; the lamp\nScriptType: v4.00+\nPlayResX: 720\n\n[V4+ Styles]\n"
        "Format: Name, Fontname, Fontsize, PrimaryColour, SecondaryColour, OutlineColour, "
        "BackColour, Bold, Italic, Underline, StrikeOut, ScaleX, ScaleY, Spacing, Angle, "
        "BorderStyle, Outline, Shadow, Alignment, MarginL, MarginR, MarginV, Encoding\n"
        f"{style}\n\n[Events]\n"
        "Format: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\n"
    )
    lines = [
        f"Dialogue: 0,{_clock(begin, '.', 1, 2)},{_clock(end, '.', 1, 2)},Default,Ada,0,0,0,,"
        rf"{{\i1\an8}}{words}".replace("\n", r"\N")
        for begin, end, words in cues
    ]
    return head + "\n".join(lines)


def ttml_text(cues: Sequence[Title]) -> str:
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n<tt xmlns="http://www.w3.org/ns/ttml"\n'
        '    xmlns:tts="http://www.w3.org/ns/ttml#styling" xml:lang="en">\n'
        '  <head><layout><region xml:id="low" tts:origin="10% 80%"/></layout></head>\n'
        "  <body><div>\n"
    )
    lines = [
        f'    <p xml:id="c{number}" region="low" begin="{_clock(begin, ".", 2)}"\n'
        f'       end="{_clock(end, ".", 2)}">{words}</p>\n'
        for number, (begin, end, words) in enumerate(
            (begin, end, words.replace("\n", "<br/>")) for begin, end, words in cues
        )
    ]
    return head + "".join(lines) + "  </div></body>\n</tt>\n"


WRITERS: dict[SubtitleKind, Callable[[Sequence[Title]], str]] = {
    SubtitleKind.SRT: srt_text,
    SubtitleKind.VTT: vtt_text,
    SubtitleKind.ASS: ass_text,
    SubtitleKind.TTML: ttml_text,
}


def _by_pysubs2(name: str) -> Callable[[str], list[Title]]:
    def read(text: str) -> list[Title]:
        lines = text.replace("\r\n", "\n")  # it opens files as text
        events = pysubs2.SSAFile.from_string(lines, format_=name)
        return [Title(int(one.start), int(one.end), one.plaintext) for one in events]

    return read


def _by_webvtt(text: str) -> list[Title]:
    return [
        Title(_ms(one.start), _ms(one.end), one.text)
        for one in webvtt.from_string(text, strict=True).captions
    ]


def _ms(text: str) -> int:
    hours, minutes, seconds = text.replace(",", ".").split(":")
    return (int(hours) * 60 + int(minutes)) * 60_000 + round(float(seconds) * 1000)


READERS: dict[SubtitleKind, Callable[[str], list[Title]]] = {
    SubtitleKind.SRT: _by_pysubs2("srt"),
    SubtitleKind.VTT: _by_webvtt,
    SubtitleKind.ASS: _by_pysubs2("ass"),
    SubtitleKind.TTML: _by_pysubs2("ttml"),
}
"""Who reads a format besides the product."""

_SRT_LINE = re.compile(r"([0-9:,]+) --> ([0-9:,]+)")


def read_by_ffmpeg(path: Path) -> list[Title]:
    """Read a file with the ffmpeg program, which knows SRT, WebVTT and ASS."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", "-i", path]
    done = subprocess.run([*command, "-f", "srt", "-"], capture_output=True, check=True)
    found = []
    for block in done.stdout.decode().strip().split("\n\n"):
        _, times, *lines = block.split("\n")
        timed = _SRT_LINE.match(times)
        assert timed is not None
        words = re.sub(r"<[^>]*>|\{[^}]*\}", "", "\n".join(lines))
        found.append(Title(_ms(timed[1]), _ms(timed[2]), words))
    return found


def steady(ratio: Fraction, duration: Fraction) -> TimeMap:
    """Return the map from a source that runs ``ratio`` times as long, all of it."""
    return TimeMap(
        legs=(Leg(Fraction(0), duration, Fraction(0), duration * ratio),), duration=duration
    )


def identity(duration: Fraction) -> TimeMap:
    """Return the map that changes nothing."""
    return steady(Fraction(1), duration)


_lengths = st.fractions(min_value=Fraction(1, 10), max_value=9, max_denominator=48)
_ratios = st.sampled_from(
    [Fraction(text) for text in ("1", "24/20", "20/24", "25/24", "1001/1000", "18/25", "4/3")]
)
_pauses = st.just(Fraction(0)) | st.fractions(min_value=0, max_value=6, max_denominator=24)


@st.composite
def maps(
    draw: st.DrawFn, *, cut: bool = False, inset: bool = False, shuffled: bool = False
) -> TimeMap:
    """Draw a map of a few pieces of film, each at a pace of its own.

    With ``cut`` the source has film that does not play, with ``inset`` what is made has time that
    the source lacks, and with ``shuffled`` the pieces play in another order, some of them twice.
    """
    source = Fraction(0)
    pieces = []
    for _ in range(draw(st.integers(1, 5))):
        source += draw(_pauses) if cut else 0
        length = draw(_lengths)
        pieces.append((source, source + length, length / draw(_ratios)))
        source += length
    if shuffled:
        pieces = draw(st.permutations(pieces)) + draw(st.lists(st.sampled_from(pieces), max_size=2))
    legs = []
    at = Fraction(0)
    for begin, end, lasts in pieces:
        at += draw(_pauses) if inset else 0
        legs.append(Leg(at, at + lasts, begin, end))
        at += lasts
    return TimeMap(legs=tuple(legs), duration=at)
