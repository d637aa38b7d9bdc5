"""Damaged frames of scans: what a deliverable's list says of them, held against plan and scans."""

from __future__ import annotations

import os
from itertools import groupby
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.check.place import FilePlace
from retime.edition.damage import StandIn, film_frames_in, list_path, outputs_showing
from retime.edition.damage_file import read_damage
from retime.errors import DocumentError
from retime.film.timecode import label
from retime.findings import Finding, Severity
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from retime.check.film import Film
    from retime.edition.damage import DamageList
    from retime.edition.edition import Edition, Making
    from retime.edition.scans import ReelScan

__all__ = ["Listing", "damage_findings", "listing_of"]

_MOST = 20


class Listing(Struct, frozen=True, kw_only=True):
    """What the list beside a deliverable says, and what is wrong with it; nothing where none is."""

    stand_ins: tuple[StandIn, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def instead(self) -> Mapping[str, Mapping[int, int | None]]:
        """By reels and frames of their scans, the frame that is shown instead, None for black."""
        found: dict[str, dict[int, int | None]] = {}
        for one in self.stand_ins:
            found.setdefault(one.reel, {})[one.scan_frame] = one.held
        return found


def listing_of(edition: Edition, making: Making, path: Path) -> Listing:
    """Read the list beside a deliverable, and hold it against the plan."""
    file = list_path(path)
    if not os.path.lexists(file):
        return Listing()
    place = FilePlace(path=file, deliverable=making.name)
    try:
        told = read_damage(file)
    except DocumentError as error:
        text = f"the list of damaged frames cannot be read: {error.findings[0]}"
        return Listing(findings=(Finding(place=place, rule="damage list", text=text),))
    if (told.film, told.deliverable) != (edition.speed_map.film, making.name):
        text = f"this is the list of {quoted(told.deliverable)}, of the film {quoted(told.film)}"
        return Listing(findings=(Finding(place=place, rule="damage list", text=text),))
    return _held_against_plan(making, told, path)


def _held_against_plan(making: Making, told: DamageList, path: Path) -> Listing:
    frames = _film_frames(making, told)
    wanted = {(reel, frame) for (reel, *_), frame in frames.items()}
    outputs = outputs_showing(making.plan, wanted, range(making.plan.total))
    stand_ins, findings = [], []
    for one in told.damaged:
        planned = outputs.get((one.reel, frames.get(one.key, -1)))
        if planned is None:
            text = f"frame {one.frame} of reel {quoted(one.reel)} is listed as damaged"
            text += f" (scan frame {one.scan_frame}), and the plan shows no such frame"
            place = FilePlace(path=path, deliverable=making.name)
            findings.append(Finding(place=place, rule="damage list", text=text))
            continue
        stand_ins.append(one)
        listed = [(run.first, run.last) for run in one.outputs]
        if listed != planned:
            text = f"the list says that something stands in for it in {_said(listed)}, and by the"
            text += f" plan that is {_said(planned)}"
            place = _place(making, path, (one.reel, one.frame), planned[0][0])
            findings.append(Finding(place=place, rule="damage list", text=text))
    return Listing(stand_ins=tuple(stand_ins), findings=tuple(findings))


def _film_frames(making: Making, told: DamageList) -> dict[tuple[str, int, int], int]:
    """Return the film frames that a list means, as the house counts them, where there are such."""
    found = {}
    for scan in making.scans:
        held = {one.scan_frame for one in told.damaged if one.reel == scan.reel.name}
        for frame, place in film_frames_in(scan, held):
            found[scan.reel.name, scan.told(frame), place] = frame
    return found


def _said(runs: Sequence[tuple[int, int]]) -> str:
    told = [str(first) if first == last else f"{first} to {last}" for first, last in runs]
    return f"output frame{'' if told == [str(runs[0][0])] else 's'} {', '.join(told)}"


def _place(making: Making, path: Path, film: tuple[str, int], output: int) -> FilePlace:
    reel, frame = film
    rate = making.plan.conform.rate
    labelled = rate.nominal.fps.denominator == 1
    return FilePlace(
        path=path,
        deliverable=making.name,
        output=output,
        timecode=label(making.start + output, rate, drop=making.drop_frame) if labelled else "",
        film=f"reel {reel}, frame {frame}",
    )


def damage_findings(making: Making, film: Film, listing: Listing, path: Path) -> list[Finding]:
    """Return what is damaged and not listed, or listed and not damaged, in scans that were read."""
    found = list(listing.findings)
    for scan in making.scans:
        found += _Scan(making, film, listing, scan, path).findings()
    return found


class _Scan:
    """One scan, by what the second reader told of it when it was read."""

    def __init__(
        self, making: Making, film: Film, listing: Listing, scan: ReelScan, path: Path
    ) -> None:
        self._making, self._scan, self._path = making, scan, path
        self._listed = [one for one in listing.stand_ins if one.reel == scan.reel.name]
        self._damaged, self._words = film.told_damaged(scan.reel.name)

    def findings(self) -> list[Finding]:
        if self._words and not self._listed:
            text = f"{self._scan.path} is damaged, and it cannot be told where ({self._words})"
            place = FilePlace(path=self._path, deliverable=self._making.name)
            return [Finding(place=place, rule="damaged scan", text=text)]
        if not self._damaged and not self._words:
            return list(self._restored())
        return list(self._unlisted())

    def _restored(self) -> Iterator[Finding]:
        """Yield what is listed as damaged, and decodes."""
        for one in self._listed[:1]:
            more = len(self._listed) - 1
            text = f"is listed as damaged{f', with {more} more,' if more else ''} and decodes now"
            yield Finding(
                place=_place(self._making, self._path, (one.reel, one.frame), one.outputs[0].first),
                rule="damage list",
                text=text,
                hint="render it again to show what the scan holds",
                severity=Severity.WARNING,
            )

    def _unlisted(self) -> Iterator[Finding]:
        """Yield what is shown, is damaged, and has nothing in its place by any list."""
        reel, listed = self._scan.reel.name, {one.key for one in self._listed}
        lost = [
            (frame, self._damaged[held])
            for frame, held in film_frames_in(self._scan, self._damaged)
            if (reel, self._scan.told(frame), held) not in listed
        ]
        shown = outputs_showing(
            self._making.plan, {(reel, frame) for frame, _ in lost}, range(self._making.plan.total)
        )
        lost = [one for one in dict.fromkeys(lost) if (reel, one[0]) in shown]
        rows = groupby(enumerate(lost), lambda row: (row[1][0] - row[0], row[1][1]))
        for told, ((_, words), row) in enumerate(rows):
            frames = [frame for _, (frame, _) in row]
            place = _place(
                self._making,
                self._path,
                (reel, self._scan.told(frames[0])),
                min(first for frame in frames for first, _ in shown[reel, frame]),
            )
            if told == _MOST:
                text = f"{len(lost)} frames of the scan are damaged; only the first are told"
                yield Finding(place=place, rule="damaged scan", text=text)
                return
            yield Finding(place=place, rule="damaged scan", text=_lost(len(frames), words))


def _lost(frames: int, words: str) -> str:
    more = f", and {frames - 1} more in a row," if frames > 1 else ""
    is_said = "are" if frames > 1 else "is"
    text = f"the scan's frame{more} {is_said} damaged ({words})"
    return f"{text}, and no list says what stands in the place"
