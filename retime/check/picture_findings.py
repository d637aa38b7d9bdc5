"""What is wrong with a deliverable's pictures, said once and at its place."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from retime.check.match import Verdict
from retime.check.place import FilePlace
from retime.check.wording import look_said, sight_said
from retime.film.timecode import label
from retime.findings import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from retime.check.alignment import Change
    from retime.check.match import Match, Wrong
    from retime.check.planned import Planned
    from retime.plan.look import Look

__all__ = ["picture_findings"]

_MOST = 20
_STRANGER = 0.5
_UNLIKE = 0.25


def picture_findings(planned: Planned, match: Match, path: Path) -> list[Finding]:
    """Return what is wrong, in the order of output frames; nothing where all is as planned."""
    return _Telling(planned, match, path).findings()


class _Telling:
    """One deliverable's match, told."""

    def __init__(self, planned: Planned, match: Match, path: Path) -> None:
        self._planned, self._match, self._path = planned, match, path
        self._making = planned.making
        self._per_frame = 2 if planned.interlaced else 1

    def findings(self) -> list[Finding]:
        """Return all of it."""
        if self._another_film():
            text = "hardly any picture in it is one of this film's"
            return [Finding(place=self._whole(), rule="another film", text=text)]
        return [
            *self._counts(),
            *(self._change(change) for change in self._match.changes),
            *self._wrong(),
            *self._altered(),
        ]

    def _another_film(self) -> bool:
        verdicts = self._match.verdicts
        if self._match.unlike > _UNLIKE:
            return True
        off = np.isin(verdicts, (Verdict.STRANGE, Verdict.WRONG)).sum()
        right = np.isin(verdicts, (Verdict.RIGHT, Verdict.EXACT)).sum()
        return bool(len(verdicts)) and off > _STRANGER * len(verdicts) and right < off / 2

    def _whole(self) -> FilePlace:
        return FilePlace(path=self._path, deliverable=self._making.name)

    def _place(self, pulse: int) -> FilePlace:
        output = pulse // self._per_frame
        rate = self._making.plan.conform.rate
        timecode = ""
        if rate.nominal.fps.denominator == 1:
            timecode = label(self._making.start + output, rate, drop=self._making.drop_frame)
        field = f"field {pulse % 2 + 1}, " if self._per_frame > 1 else ""
        shift = int(self._match.shifts[min(pulse, len(self._match.shifts) - 1)])
        planned = min(max(0, pulse + shift), len(self._planned) - 1)
        said = look_said(self._making, self._planned.looks[planned])
        return FilePlace(
            path=self._path,
            deliverable=self._making.name,
            output=output,
            timecode=timecode,
            film=f"{field}{said}",
        )

    def _amount(self, pulses: int) -> str:
        """Return a number of pulses in words, with how long they last."""
        noun = "output field" if self._per_frame > 1 else "output frame"
        rate = self._making.plan.conform.rate.fps * self._per_frame
        return f"{pulses} {noun}{'' if pulses == 1 else 's'} ({float(1000 * pulses / rate):.1f} ms)"

    def _counts(self) -> Iterator[Finding]:
        """Tell a file that ends too early, or goes on after its end."""
        last = int(self._match.shifts[-1]) if len(self._match.shifts) else 0
        left = self._match.planned - self._match.seen - last
        if left > 0:
            text = f"the file ends {self._amount(left)} before its last planned picture"
            place = self._place(self._match.seen) if self._match.seen else self._whole()
            yield Finding(place=place, rule="missing", text=text)
        elif left < 0:
            text = f"the file goes on for {self._amount(-left)} after the last planned picture"
            yield Finding(place=self._place(self._match.seen + left), rule="extra", text=text)

    def _change(self, change: Change) -> Finding:
        by = change.after - change.before
        first, last = self._extent(change)
        where = "" if first == last else f" between output frames {self._frame(first)} and "
        where += "" if first == last else f"{self._frame(last)}, which look alike"
        standing = self._standing(change.after)
        if by > 0:
            gone = look_said(self._making, self._look(change.at + change.before))
            text = f"{self._amount(by)} missing{where}, beginning with {gone}; {standing}"
            return Finding(place=self._place(change.at), rule="missing", text=text)
        text = f"{self._amount(-by)} too many{where}; {standing}"
        return Finding(place=self._place(change.at), rule="extra", text=text)

    def _look(self, pulse: int) -> Look:
        return self._planned.looks[min(max(0, pulse), len(self._planned) - 1)]

    def _extent(self, change: Change) -> tuple[int, int]:
        """Return the first and the last pulse at which a change may lie, as far as can be told."""
        first = last = change.at
        while first > 0 and self._either(first - 1, change):
            first -= 1
        while last + 1 < self._match.seen and self._either(last, change):
            last += 1
        return first, last

    def _either(self, pulse: int, change: Change) -> bool:
        """Tell whether a pulse goes with both shifts alike."""
        if self._look(pulse + change.before) == self._look(pulse + change.after):
            return True
        verdicts = self._match.verdicts
        return pulse < len(verdicts) and verdicts[pulse] == Verdict.CANNOT_TELL

    def _frame(self, pulse: int) -> int:
        return pulse // self._per_frame

    def _standing(self, shift: int) -> str:
        if shift == 0:
            return "from here on all comes when it should"
        late = "early" if shift > 0 else "late"
        bound = "half an output frame" if self._making.deliverable.phase == "continuous" else "one"
        return f"from here on all comes {self._amount(abs(shift))} {late}, drift beyond {bound}"

    def _wrong(self) -> Iterator[Finding]:
        swapped = set(self._swapped_fields())
        if swapped:
            yield self._field_order(len(swapped))
        wrong = [one for one in self._match.wrong if one.pulse not in swapped]
        groups = groupby(enumerate(wrong), lambda pair: pair[1].pulse - pair[0])
        for told, (_, group) in enumerate(groups):
            run = [one for _, one in group]
            if told == _MOST:
                text = f"{len(wrong)} pictures are wrong; only the first places are told"
                yield Finding(place=self._whole(), rule="wrong frame", text=text)
                return
            yield self._run(run)

    def _run(self, run: list[Wrong]) -> Finding:
        """Tell pictures in a row that are not what was planned."""
        first = run[0]
        shows = sight_said(self._making, first.shows)
        planned = look_said(self._making, first.planned)
        rule = "cut" if self._moves_cut(first) else "wrong frame"
        text = f"shows {shows} where {planned} is planned"
        if rule == "cut":
            text = f"the cut is not where it should be: it {text}"
        if len(run) > 1:
            text += f", and {len(run) - 1} more in a row are wrong"
        return Finding(place=self._place(first.pulse), rule=rule, text=text)

    def _moves_cut(self, wrong: Wrong) -> bool:
        """Tell whether what is shown belongs to the shot on the other side of a cut."""
        shows = None if wrong.shows is None else wrong.shows.look
        if shows is None or shows[0].unit == wrong.planned[0].unit:
            return False
        at = wrong.pulse + int(self._match.shifts[wrong.pulse])
        near = self._planned.looks[max(0, at - 3) : at + 4]
        return any(look[0].unit == shows[0].unit for look in near)

    def _swapped_fields(self) -> Iterator[int]:
        """Yield fields that show what the other field of their frame should."""
        looks = self._planned.looks
        for one in self._match.wrong if self._per_frame > 1 else ():
            at = one.pulse + int(self._match.shifts[one.pulse])
            other = looks[at ^ 1] if at ^ 1 < len(looks) else looks[at]
            shows = None if one.shows is None else one.shows.look
            if shows == other != looks[at]:
                yield one.pulse

    def _field_order(self, count: int) -> Finding:
        first = next(self._swapped_fields())
        text = f"the fields of frames come in the wrong order: {count} show what the other field of"
        text += " their frame should"
        hint = "the file's fields are exchanged, or it says the wrong one is first"
        return Finding(place=self._place(first), rule="field order", text=text, hint=hint)

    def _altered(self) -> Iterator[Finding]:
        if self._match.altered:
            count = len(self._match.altered)
            text = f"{self._amount(count)} show what is planned and are not the scan's samples"
            place = self._place(self._match.altered[0])
            yield Finding(place=place, rule="altered", text=text)
