"""A CMX 3600 EDL written: events in, text out, in ASCII as the standard asks for."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

from retime.film.timecode import label
from retime.lists.edl_events import Effect
from retime.lists.speed_lines import written_speed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.film.speed import Rate
    from retime.lists.edl_events import Edit, Edl, Span

__all__ = ["MOST_EVENTS", "RUNS", "ascii_of", "edl_text", "escaped", "unescaped"]

MOST_EVENTS = 999
"""An event's number has three digits."""

RUNS = "ONE EVENT A RUN"
"""How a remark of the first event says that each shows one film frame, as long as it lasts."""

_ESCAPE = re.compile(
    r"\\(?:x([0-9a-f]{2})|u((?!d[89a-f])[0-9a-f]{4})|U(00(?:0[0-9a-f]|10)[0-9a-f]{4}))", re.ASCII
)
_LONGEST_TITLE = 70
_REEL_WIDTH = 8


def ascii_of(text: str) -> str:
    """Return a text in printable ASCII: letters without their accents, ? for what has none."""
    bare = "".join(
        one for one in unicodedata.normalize("NFKD", text) if not unicodedata.combining(one)
    )
    return "".join(one if " " <= one <= "~" else "?" for one in bare)


def escaped(text: str) -> str:
    r"""Return a name in ASCII that can be read back: ``é`` is written ``\xe9``."""
    return text.replace("\\", "\\x5c").encode("ascii", "backslashreplace").decode("ascii")


def unescaped(text: str) -> str:
    """Return the name that ``escaped`` has written."""
    return _ESCAPE.sub(lambda found: chr(int(found[found.lastindex or 0], 16)), text)


def edl_text(edl: Edl) -> str:
    """Return a list as text, each line ended by a line feed."""
    return "".join(f"{line.rstrip()}\n" for line in _lines(edl))


def _lines(edl: Edl) -> Iterator[str]:
    yield f"TITLE: {ascii_of(edl.title)[:_LONGEST_TITLE]}"
    if edl.drop is not None:
        yield f"FCM: {'DROP FRAME' if edl.drop else 'NON-DROP FRAME'}"
    for remark in edl.heading:
        yield f"* {ascii_of(remark)}"
    yield from edl.others
    for event in edl.events():
        yield ""
        for edit in event:
            yield _event_line(edit, edl.rate)
        for edit in event:
            if edit.speed is not None:
                at = label(edit.speed.at, edl.rate, drop=edit.source.drop)
                speed = written_speed(edit.speed.speed)
                yield f"M2   {edit.speed.reel:<{_REEL_WIDTH}} {speed:>9}                {at}"
        for edit in event:
            for remark in edit.remarks:
                yield f"* {ascii_of(remark)}"


def _event_line(edit: Edit, rate: Rate) -> str:
    effect = f"W{edit.wipe or 0:03}" if edit.effect is Effect.WIPE else str(edit.effect)
    lasts = "" if edit.lasts is None else f"{edit.lasts:03}"
    if edit.faded:
        lasts = f"(F) {lasts}"
    times = f"{_times(edit.source, rate)} {_times(edit.record, rate)}"
    head = f"{edit.number:03}  {edit.reel:<{_REEL_WIDTH}} {edit.channel:<5} "
    return f"{head}{effect:<4} {lasts:>4} {times}"


def _times(span: Span, rate: Rate) -> str:
    return " ".join(label(frame, rate, drop=span.drop) for frame in (span.first, span.stop))
