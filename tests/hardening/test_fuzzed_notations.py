"""Whatever is written for a figure is read, or refused by an error of ours in one line."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest
from fuzz_limits import budget, ended_well
from hypothesis import given
from mutations import made_of, spoiled

from retime.evidence.families import parse_steady
from retime.evidence.figures import parse_figure, parse_share
from retime.evidence.lengths import parse_part
from retime.evidence.links import parse_link
from retime.evidence.preferences import parse_preference, parse_screen
from retime.evidence.reading_rules import parse_rule
from retime.film.gauge import Footage, gauge_named
from retime.film.length import parse_length
from retime.film.notation import parse_pace, parse_rate, parse_speed, parse_time
from retime.film.speed import Rate
from retime.film.timecode import frame_of
from retime.follow.subtitle_ttml_clock import TtmlClock
from retime.light.raster import parse_area, parse_aspect, parse_size
from retime.lists.speed_lines import parse_m2_speed
from retime.pace.item import parse_id
from retime.pace.marking import parse_marks
from retime.pace.motion import parse_motion
from retime.speedmap.baked import parse_baked

if TYPE_CHECKING:
    from collections.abc import Callable

GAUGE = gauge_named("9.5mm")
TTML = TtmlClock(frames=Fraction(24000, 1001), parts=4, ticks=10_000)

READERS: dict[str, tuple[Callable[[str], object], tuple[str, ...]]] = {
    "speed": (parse_speed, ("18 fps", "240/11", "75 ft/min", "22.86 m/min", "13:20 /1000ft")),
    "pace": (parse_pace, ("18 fps -> 22.5 fps", "60 ft/min -> 75 ft/min")),
    "rate": (parse_rate, ("23.976", "24000/1001", "25 fps")),
    "time": (parse_time, ("1:37:12.5", "12:40", "4 s", "90 min")),
    "length": (
        lambda text: parse_length(text).frames(GAUGE, Footage.PITCH),
        ("1000 ft", "39+14", "300.5 m", "16000 frames"),
    ),
    "gauge": (gauge_named, ("35mm", "super 8", "9.5mm")),
    "label": (lambda text: frame_of(text, Rate(Fraction(30000, 1001))), ("00:09:59;28",)),
    "TTML time": (TTML.read, ("00:00:01:12.1", "1.5s", "20000t", "36f", "00:00:01.25")),
    "size": (parse_size, ("1920x1080",)),
    "area": (parse_area, ("10,20,1440,1080", "10+20 1440x1080")),
    "aspect": (parse_aspect, ("16:9", "1.375", "4/3")),
    "M2 speed": (parse_m2_speed, ("018.0", "-029.97", "024.")),
    "cadence": (parse_baked, ("1:1:2", "2:3 fields, top first", "2:1x23", "3:2 from 1")),
    "marks": (parse_marks, ("12,21.5,30", "0, 18, 36")),
    "motion": (parse_motion, ("walk", "pendulum 0.99 m within 1 %", "fall 4.9 m within 2 %")),
    "id": (parse_id, ("walker-at-the-pier",)),
    "tolerance": (
        lambda text: parse_figure(text, parse_time),
        ("72 min within 4 min", "2:15:00 to 2:20:00", "72 min within 5 %"),
    ),
    "share": (parse_share, ("5 %", "0.5 %")),
    "steady": (parse_steady, ("18 fps",)),
    "part": (parse_part, ("reel 1", "1/2-1/4", "2 reels", "1000 ft")),
    "link": (parse_link, ("showing is 1.0 to 1.25 of taking",)),
    "preference": (parse_preference, ("12 of 20", "18 fps 7 of 10")),
    "screen": (parse_screen, ("60 Hz", "24 fps")),
    "rule": (parse_rule, ("12 characters/s", "3 words/s + 2 s", "a word a second")),
}
PIECES = ["18", "22.5", "0", "1/0", "7/3", "00", "59", "60", "9999999999", "0.1234567", "1e9", "."]
PIECES += ["fps", "ft", "m", "/min", "min", "s", "/1000ft", "frames", "mm", "%", " within ", " to "]
PIECES += [
    "->",
    ":",
    ";",
    "+",
    "-",
    "/",
    ",",
    " ",
    "x",
    "f",
    "t",
    "of",
    " is ",
    "top first",
    "from",
]


def as_bytes(reader: Callable[[str], object]) -> Callable[[bytes], object]:
    """Return the reader of what stands in a document: there is no text in it that is no UTF-8."""
    return lambda data: reader(data.decode(errors="replace"))


@pytest.mark.parametrize("notation", READERS)
def test_whatever_is_written_for_a_figure_is_read_or_refused_in_a_line(notation: str) -> None:
    reader, valid = READERS[notation]

    @budget(0.1 / len(READERS), 2)
    @given(spoiled([one.encode() for one in valid]) | made_of([*valid, *PIECES]))
    def reads(data: bytes) -> None:
        refused = ended_well(as_bytes(reader), data)
        assert refused is None or len(str(refused).splitlines()) == 1

    reads()


@pytest.mark.parametrize("notation", READERS)
@pytest.mark.parametrize("piece", ["9", "9:", "9/", "9x", " ", "1 ", "a ", "->", "٣", "\u00a0"])
def test_a_megabyte_for_a_figure_is_refused_soon_and_shortly(notation: str, piece: str) -> None:
    reader, valid = READERS[notation]
    for text in (piece * 200_000, valid[0] + piece * 200_000 + "x", valid[0] + " " * 200_000 + "x"):
        refused = ended_well(as_bytes(reader), text.encode())

        assert refused is None or len(str(refused)) < 1000
