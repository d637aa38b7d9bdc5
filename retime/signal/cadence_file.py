"""The cadence of a transfer as a file, ``retime-cadence/1``: YAML, one line a stretch.

It tells which film frame every field of every picture shows, so that film frames can be taken out
of the transfer exactly as it was found to hold them (``retime.signal.shown.film_frames``).
"""

from __future__ import annotations

import re
from itertools import groupby
from typing import TYPE_CHECKING, Annotated, Any, Literal

from msgspec import Struct
from pydantic import AfterValidator, BeforeValidator, Field

from retime.errors import DocumentError, NotationError
from retime.findings import Finding
from retime.signal.mixtures import Rule
from retime.signal.shown import Kind, Mixing, Odd, Space, Stretch, films_shown
from retime.yamldoc.binding import Section, validate
from retime.yamldoc.quoting import quoted
from retime.yamldoc.reading import load
from retime.yamldoc.schema import document_schema

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from retime.yamldoc.tree import Tree

__all__ = ["CadenceFile", "cadence_schema", "cadence_text", "read_cadence", "runs_said"]

_FORMAT = "retime-cadence/1"
_MOST = 5_000_000  # pictures: more than two days at 24 a second
_MANY = 6
_RUN = re.compile(r"(?P<run>[1-9][0-9]{0,8})(?:x(?P<times>[1-9][0-9]{0,8}))?")
_SAID = {
    Rule.BETWEEN: "between",
    Rule.NEARLY: "nearly",
    Rule.WINDOW: "window",
}
_RULES = {said: rule for rule, said in _SAID.items()}


class CadenceFile(Struct, frozen=True, kw_only=True):
    """A cadence that was found: of which scan, and what its pictures show.

    ``first`` is the first picture that was looked at, ``frames`` how many were. ``digest`` is
    SHA-256 over the scan's size in bytes, in digits, its first MiB and its last. ``stretches``
    leave out no picture.
    """

    scan: str
    first: int
    frames: int
    digest: str
    stretches: tuple[Stretch, ...]


def runs_said(runs: Sequence[int]) -> str:
    """Return runs as ``1:1:2``, many alike shortened: ``2:1x23`` is a 2 and then 23 ones."""
    grouped = [(run, sum(1 for _ in alike)) for run, alike in groupby(runs)]
    return ":".join(
        ":".join([str(run)] * times) if times < _MANY else f"{run}x{times}"
        for run, times in grouped
    )


def _runs(text: Any) -> tuple[int, ...]:
    found: list[int] = []
    fields = 0
    for part in str(text).split(":"):
        one = _RUN.fullmatch(part)
        times = int(one["times"] or 1) if one else 0
        fields += int(one["run"]) * times if one else 0
        if one is None or fields > 2 * _MOST:
            raise NotationError(f"{quoted(str(text))} are no runs", "write 1:1:2 or 2:1x23")
        found += [int(one["run"])] * times
    return tuple(found)


def _digest(text: str) -> str:
    if not re.fullmatch(r"[0-9a-f]{64}", text):
        raise NotationError(f"{quoted(text)} is no SHA-256", "it is 64 digits and letters a to f")
    return text


_Count = Annotated[int, Field(ge=0, le=_MOST)]
_Runs = Annotated[tuple[int, ...], BeforeValidator(_runs)]


class StretchSection(Section):
    """One stretch, as it is written."""

    first: _Count
    last: _Count
    film: _Count
    shows: Literal["new", "repeats", "fields", "mixed", "still", "irregular"]
    runs: _Runs = (1,)
    phase: _Count = 0
    order: Literal["top-first", "bottom-first"] | None = None
    also_new: list[_Count] = Field(default_factory=list, alias="also-new")
    also_same: list[_Count] = Field(default_factory=list, alias="also-same")
    rule: Literal["between", "nearly", "window"] | None = None
    mixed_in: Literal["codes", "light", "untold"] | None = Field(None, alias="mixed-in")
    film_frames: _Count | None = Field(None, alias="film-frames")
    outputs: _Count | None = None
    start: _Count | None = None
    confidence: Annotated[float, Field(ge=0, le=1)] = 1.0


class CadenceDocument(Section):
    """A cadence, as it is written."""

    format: Literal["retime-cadence/1"]
    scan: str
    first: _Count = 0
    frames: Annotated[int, Field(ge=1, le=_MOST)]
    digest: Annotated[str, AfterValidator(_digest)]
    rate: str | None = None
    film_frames: _Count | None = Field(None, alias="film-frames")
    stretches: Annotated[list[StretchSection], Field(min_length=1)]


def cadence_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a cadence file."""
    description = "A cadence that was found in a transfer: which film frame each picture shows."
    return document_schema(CadenceDocument, _FORMAT, description)


def read_cadence(path: Path) -> CadenceFile:
    """Read a cadence file; raises DocumentError with all that is wrong in it, each at its place."""
    tree = load(path)
    document = validate(CadenceDocument, tree)
    findings = list(_gaps(document, tree))
    if findings:
        raise DocumentError(findings)
    stretches = tuple(_stretch(one) for one in document.stretches)
    return CadenceFile(
        scan=document.scan,
        first=document.first,
        frames=document.frames,
        digest=document.digest,
        stretches=stretches,
    )


def _gaps(document: CadenceDocument, tree: Tree) -> Iterator[Finding]:
    """Yield what does not fit together: each picture is in one stretch, and stretches complete."""
    at = document.first
    film = 0
    for number, one in enumerate(document.stretches):
        path = ("stretches", number)
        place = tree.place(path)
        if one.first != at or one.last < one.first:
            text = f"pictures {one.first} to {one.last} do not follow on picture {at - 1}"
            yield Finding(place=place, rule="stretches", text=text, hint="leave none out")
            return
        if not film - 1 <= one.film <= film:
            text = f"film frame {one.film} does not follow on film frame {film - 1}"
            yield Finding(place=place, rule="stretches", text=text, hint="number them through")
            return
        missing = _missing(one)
        if missing is not None:
            yield Finding(place=place, rule="stretches", text=missing)
            return
        at = one.last + 1
        upper, lower = films_shown([_stretch(one)])
        film = int(max(upper.max(), lower.max())) + 1
    if at != document.first + document.frames:
        text = f"stretches end with picture {at - 1}, and there are {document.frames} pictures"
        yield Finding(place=tree.place(("frames",)), rule="stretches", text=text)


def _missing(one: StretchSection) -> str | None:
    """Return what a stretch of its kind does not say, None if it is complete."""
    if one.shows == "fields" and one.order is None:
        return "fields need an order"
    if one.shows == "mixed" and not (one.rule and one.film_frames and one.outputs):
        return "what is mixed needs a rule, film-frames and outputs"
    if one.shows == "mixed" and (one.film_frames or 0) >= (one.outputs or 0):
        return "more pictures are mixed than film frames: outputs is the greater number"
    if one.shows == "irregular" and sum(one.runs) < one.last - one.first + 1:
        return "irregular runs are told in full"
    if one.phase >= max(one.runs[0], 1):
        return "the phase is within the first run"
    return None


def _stretch(one: StretchSection) -> Stretch:
    mixing = None
    if one.rule is not None and one.film_frames is not None and one.outputs is not None:
        mixing = Mixing(
            film_frames=one.film_frames,
            outputs=one.outputs,
            start=one.start or 0,
            rule=_RULES[one.rule],
            space=Space(one.mixed_in or Space.UNTOLD),
        )
    odd = [Odd(picture=picture, is_new=True) for picture in one.also_new]
    odd += [Odd(picture=picture, is_new=False) for picture in one.also_same]
    return Stretch(
        first=one.first,
        last=one.last,
        kind=Kind(one.shows),
        film=one.film,
        runs=one.runs,
        phase=one.phase,
        top_first=None if one.order is None else one.order == "top-first",
        odd=tuple(sorted(odd, key=lambda each: each.picture)),
        mixing=mixing,
        confidence=one.confidence,
    )


def cadence_text(
    found: CadenceFile, *, film_frames: int, rate: str | None, notes: Sequence[str] = ()
) -> str:
    """Return a cadence file's text; ``notes`` are told in comments at its top."""
    lines = [f"# {note}" for note in notes]
    lines += [f"format: {_FORMAT}", f"scan: {_yaml(found.scan)}"]
    if found.first:
        lines.append(f"first: {found.first}")
    lines += [f"frames: {found.frames}", f"digest: {found.digest}"]
    if rate is not None:
        lines.append(f"rate: {_yaml(rate)}  # what its header says")
    lines += [f"film-frames: {film_frames}", "stretches:"]
    lines += [f"  - {{{', '.join(_said(stretch))}}}" for stretch in found.stretches]
    return "\n".join(lines) + "\n"


def _said(one: Stretch) -> Iterator[str]:
    yield f"first: {one.first}"
    yield f"last: {one.last}"
    yield f"film: {one.film}"
    yield f"shows: {one.kind}"
    if one.kind in {Kind.REPEATS, Kind.FIELDS, Kind.IRREGULAR}:
        yield f'runs: "{runs_said(one.runs)}"'
        if one.phase:
            yield f"phase: {one.phase}"
    if one.top_first is not None:
        yield f"order: {'top-first' if one.top_first else 'bottom-first'}"
    for key, is_new in (("also-new", True), ("also-same", False)):
        odd = [str(each.picture) for each in one.odd if each.is_new is is_new]
        if odd:
            yield f"{key}: [{', '.join(odd)}]"
    if one.mixing is not None:
        yield f"rule: {_SAID[one.mixing.rule]}"
        yield f"mixed-in: {one.mixing.space}"
        yield f"film-frames: {one.mixing.film_frames}"
        yield f"outputs: {one.mixing.outputs}"
        yield f"start: {one.mixing.start}"
    yield f"confidence: {one.confidence:g}"


def _yaml(text: str) -> str:
    """Return a text in double quotes, as YAML 1.2 reads them."""
    escaped = "".join(
        one if one.isprintable() and one not in '"\\' else f"\\U{ord(one):08X}" for one in text
    )
    return f'"{escaped}"'
