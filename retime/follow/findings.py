"""What is wrong or odd in what follows the picture: files, cues, and what is not heard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import DocumentError
from retime.findings import Finding, Severity
from retime.follow.chapters import chapters_of
from retime.follow.sound import heard_of, sounding_of
from retime.follow.subtitling import subtitled_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.edition.edition import Edition, Making
    from retime.follow.sound import Sounding

__all__ = ["follow_findings"]


def follow_findings(edition: Edition) -> tuple[Finding, ...]:
    """Return the warnings about what follows an edition's deliverables.

    Raises DocumentError with every error; warnings are told with them.
    """
    found: list[Finding] = []
    for making in edition.makings:
        for one in _findings(edition, making):
            if one not in found:
                found.append(one)
    if any(one.severity is Severity.ERROR for one in found):
        raise DocumentError(found)
    return tuple(found)


def _findings(edition: Edition, making: Making) -> Iterator[Finding]:
    try:
        chapters_of(edition, making)
    except DocumentError as error:
        yield from error.findings
    try:
        for sounding in sounding_of(edition, making):
            yield from _unheard(making, sounding)
    except DocumentError as error:
        yield from error.findings
    try:
        for subtitled in subtitled_of(edition, making):
            yield from subtitled.findings
    except DocumentError as error:
        yield from error.findings


def _unheard(making: Making, sounding: Sounding) -> Iterator[Finding]:
    """Yield what of a recording is not heard, and what of the film is silent, beyond a frame."""
    heard, frame = heard_of(sounding), 1 / making.plan.conform.rate.fps
    place = sounding.recording.where.of("file")
    name = sounding.recording.file
    for seconds, what in (
        (heard.left_out_before, "of its beginning are not heard"),
        (heard.left_out_after, "of its end are not heard"),
        (heard.silence_after, "at the end of the deliverable are silent"),
        (heard.silence_between, "between parts of it are silent"),
    ):
        if seconds > frame:
            text = f"{making.name}: {name}: {float(seconds):.3f} s {what}"
            yield Finding(place=place, rule="sound", text=text, severity=Severity.WARNING)
