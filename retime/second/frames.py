"""What the first pictures of a file say of themselves, and what their coded headers say."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.second.colours import NOTHING_SAID, Colours, colours_named
from retime.second.program import Running

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["CodedHeader", "FirstFrames", "coded_header", "first_frames"]

_RATE = re.compile(r"config in time_base: \S+, frame_rate: (\d+)/(\d+)")
_FRAME = re.compile(r" n: *\d+ pts: .* fmt:\S+ .*sar:(\d+)/(\d+) s:\S+ i:(.) ")
_COLOURS = re.compile(r" color_range:(\S+) color_space:(\S+) color_primaries:(\S+) color_trc:(\S+)")
_TIMECODE = re.compile(r"side data - .*timecode.*?(\d\d:\d\d:\d\d[:;]\d\d)")
_ORDERS = {"P": "progressive", "T": "top-first", "B": "bottom-first"}

_FIELD = re.compile(r"\[trace_headers @ \w+\] \d+ +(\w+) .*= (\d+)$", re.MULTILINE)
_TRACED = ("mpeg2video", "h264")
# ISO/IEC 13818-2, table 6-4: frame_rate_value by frame_rate_code.
_MPEG2_RATES = {
    1: Fraction(24000, 1001),
    2: Fraction(24),
    3: Fraction(25),
    4: Fraction(30000, 1001),
    5: Fraction(30),
    6: Fraction(50),
    7: Fraction(60000, 1001),
    8: Fraction(60),
}


class FirstFrames(Struct, frozen=True, kw_only=True):
    """What decoded pictures say: how each is scanned, None where that is not known, and the rest.

    ``rate`` is what the program takes for the rate, before it looks at any packet; ``timecode`` a
    label that stands with the first picture.
    """

    orders: tuple[str | None, ...] = ()
    colours: Colours = NOTHING_SAID
    sample_aspect: Fraction | None = None
    rate: Fraction | None = None
    timecode: str | None = None


class CodedHeader(Struct, frozen=True, kw_only=True):
    """What the headers of coded pictures say of their rate, and which field is the first.

    ``order`` holds where progressive pictures are shown for two fields or three by repeat flags.
    """

    rate: Fraction | None = None
    order: str | None = None


def first_frames(path: Path, count: int, before: tuple[str, ...] = ()) -> FirstFrames:
    """Look at the first pictures; one that cannot be decoded says nothing."""
    arguments = ["-protocol_whitelist", "file", *before, "-i", str(path.absolute())]
    arguments += ["-map", "0:v:0", "-frames:v", str(count), "-fps_mode", "passthrough"]
    arguments += ["-vf", "showinfo=checksum=0", "-f", "null", "-"]
    with Running(arguments, level="info") as running:
        running.done()
        told = running.words()
    shown = _FRAME.findall(told)[:count]
    rate, colours, label = _RATE.search(told), _COLOURS.search(told), _TIMECODE.search(told)
    wide, high = map(int, shown[0][:2]) if shown else (0, 0)
    return FirstFrames(
        orders=tuple(_ORDERS.get(order) for *_, order in shown),
        colours=_colours(colours) if colours else NOTHING_SAID,
        sample_aspect=Fraction(wide, high) if wide and high else None,
        rate=_ratio(int(rate[1]), int(rate[2])) if rate else None,
        timecode=label[1] if label else None,
    )


def _colours(found: re.Match[str]) -> Colours:
    return colours_named(span=found[1], matrix=found[2], primaries=found[3], transfer=found[4])


def coded_header(path: Path, codec: str) -> CodedHeader:
    """Read the headers of the first coded picture, of MPEG-2 and H.264; others say nothing."""
    if codec not in _TRACED:
        return CodedHeader()
    arguments = ["-protocol_whitelist", "file", "-i", str(path.absolute()), "-map", "0:v:0"]
    arguments += ["-c", "copy", "-frames:v", "1", "-bsf:v", "trace_headers", "-f", "null", "-"]
    with Running(arguments, level="info") as running:
        running.done()
        said: dict[str, int] = {}
        for name, value in _FIELD.findall(running.words()):
            said.setdefault(name, int(value))
    if codec == "h264":
        # Rec. ITU-T H.264, E.2.1: a tick is that of a field.
        return CodedHeader(
            rate=_ratio(said.get("time_scale", 0), 2 * said.get("num_units_in_tick", 0))
        )
    rate = _MPEG2_RATES.get(said.get("frame_rate_code", 0))
    if rate is not None:
        more = said.get("frame_rate_extension_n", 0) + 1, said.get("frame_rate_extension_d", 0) + 1
        rate *= Fraction(*more)
    order = {0: "bottom-first", 1: "top-first"}.get(said.get("top_field_first", -1))
    return CodedHeader(rate=rate, order=order)


def _ratio(one: int, other: int) -> Fraction | None:
    return Fraction(one, other) if one and other else None
