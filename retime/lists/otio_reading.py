"""The shots of an OpenTimelineIO document: the clips of its picture tracks.

A clip's media begins with the scan's frame 0, whatever label its range begins with. What a clip
of ours carries in metadata counts for as long as the clip's own figures agree with it.
"""

from __future__ import annotations

import json
import math
import re
from bisect import bisect_right
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from retime.errors import DocumentError
from retime.film.rounding import half_up
from retime.findings import Finding, Severity, TextPlace
from retime.lists.listed import Listed, ShotList, left_out
from retime.lists.listtext import text_of
from retime.lists.otio_bridge import FACTS, opentimelineio
from retime.lists.strips import Shows
from retime.speedmap.model import ShotKind
from retime.yamldoc.quoting import listed, quoted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from retime.lists.terms import Terms

__all__ = ["read_otio"]

_RULE = "otio"
_CLIP = re.compile(r'"OTIO_SCHEMA"\s*:\s*"Clip\.')
_BREAK = re.compile(r"\r\n|\n|\r")
_FRAME = re.compile(r"[0-9]{1,15}")
_MOST_FRAMES = 2**53
_FASTEST = 10_000
_NEAR = Fraction(1, 1000)


def read_otio(data: bytes, path: Path, terms: Terms) -> ShotList:
    """Read the shots of a timeline: the clips of its picture tracks.

    Raises:
        DocumentError: with every fault.
        CommandError: OpenTimelineIO is not installed.
    """
    text = text_of(data, path)
    _check_json(text, path)
    otio = opentimelineio()
    try:
        timeline = otio.adapters.read_from_string(text, "otio_json")
    except Exception as error:  # its faults have no common class of their own
        said = (str(error.args[0] if error.args else error).strip().splitlines() or [""])[0]
        raise _fault(path, f"this is no OpenTimelineIO document: {said}") from error
    if not isinstance(timeline, otio.schema.Timeline):
        kind = type(timeline).__name__
        raise _fault(path, f"the document holds a {kind}, and not a timeline")
    return _Reading(otio, text, path, terms).shot_list(timeline)


def _check_json(text: str, path: Path) -> None:
    """Raise DocumentError for what is no JSON, at its place, before another parser sees it."""
    try:
        json.loads(text)
    except json.JSONDecodeError as error:
        place = TextPlace(path=path, line=error.lineno, column=error.colno)
        what = f"this is not JSON: {error.msg[:1].lower()}{error.msg[1:]}"
        hint = "an OpenTimelineIO document is JSON"
        raise DocumentError([Finding(place=place, rule=_RULE, text=what, hint=hint)]) from None
    except RecursionError:
        raise _fault(path, "the document is nested too deeply") from None
    except ValueError as error:  # a number of thousands of digits
        raise _fault(path, f"a number cannot be read: {error}") from error


def _fault(path: Path, text: str) -> DocumentError:
    place = TextPlace(path=path, line=1, column=1)
    return DocumentError([Finding(place=place, rule=_RULE, text=text)])


class _Reading:
    """A timeline while its clips are turned into shots."""

    def __init__(self, otio: Any, text: str, path: Path, terms: Terms) -> None:
        self._otio, self._path, self._terms = otio, path, terms
        starts = [0, *(found.end() for found in _BREAK.finditer(text))]
        self._places = [
            TextPlace(
                path=path,
                line=bisect_right(starts, found.start()),
                column=found.start() - starts[bisect_right(starts, found.start()) - 1] + 1,
            )
            for found in _CLIP.finditer(text)
        ]
        self._errors: list[Finding] = []
        self._warnings: list[Finding] = []
        self._rate: float | None = None

    def shot_list(self, timeline: Any) -> ShotList:
        """Return the shots of a timeline."""
        schema = self._otio.schema
        shots: list[Listed] = []
        left: dict[str, int] = {}
        number = -1
        for track in timeline.tracks or ():
            picture = getattr(track, "kind", schema.TrackKind.Video) == schema.TrackKind.Video
            for item in _flat(track, schema):
                if isinstance(item, schema.Clip):
                    number += 1
                    found = self._clip(item, self._place(number)) if picture else None
                    shots += [found] if found else []
                kind = self._left_out(item, picture=picture)
                if kind:
                    left[kind] = left.get(kind, 0) + 1
        if not shots and not self._errors:
            self._note(TextPlace(path=self._path, line=1, column=1), "no clip of it is a shot")
        if self._errors:
            raise DocumentError([*self._warnings, *self._errors])
        place = TextPlace(path=self._path)
        self._warnings += [
            Finding(
                place=place,
                rule=_RULE,
                text=left_out(count, kind),
                severity=Severity.WARNING,
            )
            for kind, count in left.items()
        ]
        return ShotList(shots=tuple(shots), findings=tuple(self._warnings))

    def _left_out(self, item: Any, *, picture: bool) -> str | None:
        schema = self._otio.schema
        if isinstance(item, schema.Transition):
            return "transition"
        if isinstance(item, schema.Clip):
            if not picture:
                return "clip of sound"
            return "picture of no film" if self._is_card(item) else None
        return None if isinstance(item, schema.Gap) else "item of another kind"

    def _place(self, number: int) -> TextPlace:
        if number < len(self._places):
            return self._places[number]
        return TextPlace(path=self._path, line=1, column=1)

    def _is_card(self, clip: Any) -> bool:
        shows = _text(clip.metadata, FACTS, "shows")
        generated = isinstance(clip.media_reference, self._otio.schema.GeneratorReference)
        return shows == Shows.PLATE or generated

    def _clip(self, clip: Any, place: TextPlace) -> Listed | None:
        if self._is_card(clip):
            return None
        reel = self._reel(clip, place)
        span = self._span(clip, place)
        if reel is None or span is None:
            return None
        first, record, scalar = span
        count = max(1, half_up(abs(scalar) * record))
        facts = {
            key: _text(clip.metadata, FACTS, key)
            for key in ("first", "last", "shot", "kind", "name")
        }
        stated = self._stated(facts, first, abs(scalar), record)
        if stated is not None:
            count = stated - first + 1
        if first < 0:
            self._note(place, f"the clip {quoted(clip.name)} begins before its media")
            return None
        kind = ShotKind.TITLE if facts["kind"] == ShotKind.TITLE else ShotKind.ACTION
        return Listed(
            reel=reel,
            first=first,
            last=first + count - 1,
            place=place,
            shot=facts["shot"],
            kind=kind,
            name=facts["name"] if facts["shot"] else (clip.name or None),
            frozen=scalar == 0 and facts["shot"] is None,
        )

    @staticmethod
    def _stated(
        facts: dict[str, str | None], first: int, scalar: Fraction, record: int
    ) -> int | None:
        """Return the last frame that a clip's metadata states, while its figures agree."""
        begin, last = facts["first"] or "", facts["last"] or ""
        if not (_FRAME.fullmatch(begin) and _FRAME.fullmatch(last)):
            return None
        if int(begin) != first or int(last) < first:
            return None
        apart = abs(int(last) - first + 1 - scalar * record)
        return int(last) if last == begin or apart < max(Fraction(1), scalar) else None

    def _reel(self, clip: Any, place: TextPlace) -> str | None:
        """Return which reel of ours a clip is of."""
        media = clip.media_reference
        said = [
            _text(clip.metadata, FACTS, "reel"),
            _text(clip.metadata, "cmx_3600", "reel"),
            getattr(media, "name", None) or None,
            _stem(getattr(media, "target_url", None) or getattr(media, "target_url_base", None)),
        ]
        names = [name for name in said if name]
        for name in names or [""]:
            reel = self._terms.reel(name)
            if reel is not None and (not self._terms.reels or reel in self._terms.reels):
                return reel
        told = listed(quoted(name) for name in names) if names else "nothing that names one"
        what = f"the clip {quoted(clip.name)} is of no reel that is known: it has {told}"
        self._note(
            place, what, f"there are {listed(self._terms.reels)}; --reel NAME=REEL says which"
        )
        return None

    def _span(self, clip: Any, place: TextPlace) -> tuple[int, int, Fraction] | None:
        """Return a clip's first frame in its scan, how many frames it lasts, and its scalar."""
        span = clip.source_range
        media = clip.media_reference
        available = getattr(media, "available_range", None)
        if span is None:
            span = available
        if span is None:
            self._note(place, f"the clip {quoted(clip.name)} has no range")
            return None
        zero = 0.0 if available is None else available.start_time.value
        figures = (span.start_time.value, span.duration.value, span.start_time.rate, zero)
        if not all(map(math.isfinite, figures)) or max(map(abs, figures)) >= _MOST_FRAMES:
            self._note(place, f"the clip {quoted(clip.name)} has times that are no frames")
            return None
        rates = {span.start_time.rate, span.duration.rate, self._rate or span.start_time.rate}
        if available is not None:
            rates.add(available.start_time.rate)
        if len(rates) > 1:
            told = " and ".join(f"{rate:g}" for rate in sorted(rates))
            self._note(place, f"the clip {quoted(clip.name)} mixes rates: {told}")
            return None
        self._rate = span.start_time.rate
        start, lasts = (_whole(one) for one in (span.start_time.value - zero, span.duration.value))
        if start is None or lasts is None or lasts <= 0:
            self._note(place, f"the clip {quoted(clip.name)} does not last whole frames")
            return None
        scalar = self._scalar(clip, place)
        return None if scalar is None else (start, lasts, scalar)

    def _scalar(self, clip: Any, place: TextPlace) -> Fraction | None:
        """Return film frames to an output frame: the product of a clip's time warps."""
        schema = self._otio.schema
        scalar = Fraction(1)
        for effect in clip.effects:
            if isinstance(effect, schema.FreezeFrame):
                return Fraction(0)
            if isinstance(effect, schema.LinearTimeWarp):
                if not math.isfinite(effect.time_scalar) or abs(effect.time_scalar) > _FASTEST:
                    self._note(place, f"the clip {quoted(clip.name)} has no speed that is one")
                    return None
                scalar *= Fraction(effect.time_scalar)
            else:
                text = f"the effect {quoted(effect.effect_name or effect.name)} is not carried over"
                self._warnings.append(
                    Finding(place=place, rule=_RULE, text=text, severity=Severity.WARNING)
                )
        return scalar

    def _note(self, place: TextPlace, text: str, hint: str = "") -> None:
        self._errors.append(Finding(place=place, rule=_RULE, text=text, hint=hint))


def _flat(track: Any, schema: Any) -> Iterator[Any]:
    """Yield a track's items in order, those of tracks and stacks in it too; no track is one."""
    if not isinstance(track, (schema.Track, schema.Stack)):
        yield track
        return
    for item in track:
        yield from _flat(item, schema)


def _text(metadata: Any, *keys: str) -> str | None:
    """Return a text that stands in metadata under keys, None where there is none."""
    value: Any = metadata
    for key in keys:
        try:
            value = value[key]
        except (KeyError, TypeError, IndexError):
            return None
    return value if isinstance(value, str) and value else None


def _stem(address: str | None) -> str | None:
    if not address:
        return None
    name = address.replace("\\", "/").rstrip("/").rpartition("/")[2]
    return name.rpartition(".")[0] or name or None


def _whole(value: float) -> int | None:
    """Return a number of frames that is one but for a float's last digits."""
    nearest = half_up(Fraction(value))
    return nearest if abs(Fraction(value) - nearest) < _NEAR else None
