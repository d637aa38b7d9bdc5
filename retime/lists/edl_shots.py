"""The shots that an EDL's events are.

By source: source in and out are labels of the scan, counted from its start; this is a list that
was made on the scan. By record: the list was made on a transfer of the reel, whose events follow
one another on it; record in and out are labels of that transfer.

A map has no transitions. A cut stands where one begins; what the outgoing picture shows beyond
that is not carried, nor are keys, sound, black and what is no reel of the film.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.errors import DocumentError, NotationError
from retime.findings import Finding, Severity, TextPlace
from retime.lists.edl_events import Effect
from retime.lists.edl_writing import RUNS, unescaped
from retime.lists.listed import Listed, ShotList, left_out
from retime.lists.terms import Counted, Measure, Side
from retime.speedmap.model import ShotKind
from retime.yamldoc.quoting import listed, quoted, suggestion

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from retime.lists.edl_events import Edit, Edl, Span
    from retime.lists.terms import Terms

__all__ = ["edl_shots"]

_RULE = "edl"
_TRANSITIONS = {Effect.DISSOLVE: "dissolve", Effect.WIPE: "wipe"}


def edl_shots(edl: Edl, path: Path, terms: Terms) -> ShotList:
    """Return the shots of a list.

    Raises:
        DocumentError: an event is of a reel that is not known, or lies before its scan.
    """
    carrying = _Carrying(path, terms)
    shots = [shot for event in edl.events() for shot in carrying.shots(event)]
    if any(remark.startswith(RUNS) for edit in edl.edits[:1] for remark in edit.remarks):
        shots = _unrun(shots)
    if carrying.errors:
        raise DocumentError([*edl.findings, *carrying.errors])
    return ShotList(shots=tuple(shots), findings=(*edl.findings, *carrying.told()))


def _unrun(shots: list[Listed]) -> list[Listed]:
    """Join runs of single frames in no shot, as there are many to a stretch."""
    joined: list[Listed] = []
    for one in shots:
        before = joined[-1] if joined else None
        if before and before.reel == one.reel and before.shot is None and one.shot is None:
            first = min(before.first, one.first)
            last = max(before.last or 0, one.last or 0)
            joined[-1] = replace(before, first=first, last=last, frozen=False)
        else:
            joined.append(one)
    return joined


class _Carrying:
    """One list while its events are turned into shots."""

    def __init__(self, path: Path, terms: Terms) -> None:
        self._path, self._terms = path, terms
        self.errors: list[Finding] = []
        self._left: Counter[str] = Counter()
        self._notes: list[Finding] = []

    def shots(self, event: tuple[Edit, ...]) -> Iterator[Listed]:
        """Yield the shots of one event."""
        for edit in event:
            what = self._no_shot(edit)
            if what is not None:
                self._left[what] += 1
            elif edit.source.frames or edit.speed is not None:
                if edit.effect in _TRANSITIONS:
                    self._tell_transition(event, edit)
                shot = self._shot(edit)
                if shot is not None:
                    yield shot

    def told(self) -> tuple[Finding, ...]:
        """Return what was not carried, one finding a kind."""
        place = TextPlace(path=self._path)
        counts = (
            Finding(
                place=place,
                rule=_RULE,
                text=left_out(count, what),
                severity=Severity.WARNING,
            )
            for what, count in self._left.items()
        )
        return (*self._notes, *counts)

    @staticmethod
    def _no_shot(edit: Edit) -> str | None:
        """Return what an edit is if it is no shot, in words of which the first takes an s."""
        if not edit.has_picture:
            return "event of sound alone"
        if edit.is_black:
            return "event of black"
        if edit.effect in {Effect.KEY, Effect.KEY_OUT}:
            return "key"
        if edit.is_auxiliary and edit.said("PICTURE"):
            return "picture of no film"
        return None

    def _tell_transition(self, event: tuple[Edit, ...], edit: Edit) -> None:
        noun = _TRANSITIONS[edit.effect]
        before = event[0].reel if len(event) > 1 else "what came before"
        text = f"the {noun} of {edit.lasts} frames from {before} is not carried over"
        self._notes.append(
            Finding(
                place=edit.place,
                rule=_RULE,
                text=text,
                hint="the shot begins where it begins",
                severity=Severity.WARNING,
            )
        )

    def _shot(self, edit: Edit) -> Listed | None:
        terms = self._terms
        reel = terms.reel(edit.reel)
        if edit.is_auxiliary and (reel is None or reel == edit.reel) and terms.only is None:
            self._left["event of an auxiliary source"] += 1
            return None
        if reel is None or (terms.reels and reel not in terms.reels):
            known = terms.reels
            hint = suggestion(edit.reel, known) or f"there are {listed(known)}"
            text = f"the event is of reel {quoted(edit.reel)}, which is no reel of the map"
            self._error(
                edit, text, f"{hint}; --reel {quoted(edit.reel)[1:-1]}=NAME says which it is"
            )
            return None
        by_source = terms.side is Side.SOURCE
        frozen = edit.speed is not None and edit.speed.speed == 0
        span = edit.source if by_source else edit.record
        try:
            first, stop = self._frames(span, reel, one=frozen and by_source)
        except NotationError as error:
            self._error(edit, error.text, error.hint)
            return None
        shot, kind, name = self._names(edit)
        return Listed(
            reel=reel,
            first=first,
            last=max(first, stop - 1),
            place=edit.place,
            shot=shot,
            kind=kind,
            name=name,
            frozen=frozen and by_source,
        )

    def _frames(self, span: Span, reel: str, *, one: bool) -> tuple[int, int]:
        """Return the scan frames of a span, the one after its last included."""
        low = span.lowest
        stop = low + (1 if one else max(1, span.frames))
        ends = (
            self._terms.scan_frame(Counted(Measure.LABELS, frame), reel) for frame in (low, stop)
        )
        first, last = ends
        return first, last

    @staticmethod
    def _names(edit: Edit) -> tuple[str | None, ShotKind, str | None]:
        """Return a shot's own name, its kind, and what a person calls it."""
        shot = edit.said("SHOT")
        if shot is not None:
            shot = unescaped(shot.rpartition("/")[2].strip()) or None
        kind = ShotKind.ACTION
        if (edit.said("KIND") or "").lower() == ShotKind.TITLE:
            kind = ShotKind.TITLE
        incoming = edit.said("TO CLIP NAME") if edit.effect is not Effect.CUT else None
        name = incoming or edit.said("FROM CLIP NAME", "CLIP NAME")
        return shot, kind, name

    def _error(self, edit: Edit, text: str, hint: str) -> None:
        self.errors.append(Finding(place=edit.place, rule=_RULE, text=text, hint=hint))
