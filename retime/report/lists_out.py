"""A deliverable's plan as lists tell it: strips of film, or runs of one frame each."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.errors import CommandError
from retime.lists.strips import Programme, Scan, Shows, Strip
from retime.plan.timeline import Eased, Even
from retime.plan.timeline import Shows as Slots
from retime.speedmap.model import ShotKey

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from retime.edition.edition import Edition, Making
    from retime.plan.layout import Piece
    from retime.plan.look import Part
    from retime.plan.plan import Lead
    from retime.plan.timeline import Stretch

__all__ = ["programme_of", "runs_of"]


def programme_of(edition: Edition, making: Making) -> Programme:
    """Return a deliverable as strips: each a stretch of one shot at one pace."""
    return _Telling(edition, making).programme()


def runs_of(edition: Edition, making: Making) -> Programme:
    """Return a deliverable as runs: each one film frame and how long it is shown.

    Raises:
        CommandError: it is blended, so that output frames show no one film frame.
    """
    if making.plan.window is not None:
        raise CommandError(
            f"{making.name} is a blend: its frames are mixed, and no list can name them",
            "write edl, otio or csv, which tell the speeds",
        )
    return _Telling(edition, making).runs()


class _Telling:
    """One deliverable while it is told."""

    def __init__(self, edition: Edition, making: Making) -> None:
        self._edition, self._making, self._plan = edition, making, making.plan
        self._titles = {shot.key: shot.title for shot in edition.speed_map.shots}
        self._reels = [reel.name for reel in making.plan.timeline.reels]

    def programme(self) -> Programme:
        """Return it as strips."""
        return self._made([*self._heads(), *self._strips(), *self._tails()])

    def runs(self) -> Programme:
        """Return it as runs; where fields differ, the first field's frame is named."""
        runs: list[Strip] = []
        output = self._plan.head_frames
        for times, fields in self._plan.film_pictures():
            run = self._run(output, times, fields[0][0])
            output += times
            before = runs[-1] if runs else None
            if before and replace(before, output=run.output, frames=run.frames) == run:
                runs[-1] = replace(before, frames=before.frames + run.frames)
            else:
                runs.append(run)
        return self._made([*self._heads(), *runs, *self._tails()])

    def _made(self, strips: Sequence[Strip]) -> Programme:
        speed_map, making, plan = self._edition.speed_map, self._making, self._plan
        woven = 0
        if plan.carry.in_fields and plan.window is None:
            woven = sum(one.times for one in plan.film_pictures() if len(one.fields) > 1)
        shown = {one.reel for one in strips}
        return Programme(
            film=speed_map.film,
            deliverable=making.name,
            rate=plan.conform.rate,
            drop=making.drop_frame,
            start=making.start,
            strips=tuple(strips),
            scans={
                scan.reel.name: Scan(address=scan.reel.scan, frames=scan.held)
                for scan in self._edition.scans
                if scan.reel.name in shown
            },
            woven=woven,
            blended=plan.window is not None,
        )

    def _heads(self) -> Iterator[Strip]:
        yield from self._leads(self._plan.head, 0, self._reels[0])

    def _tails(self) -> Iterator[Strip]:
        behind = self._plan.head_frames + self._plan.outputs
        yield from self._leads(self._plan.tail, behind, self._reels[-1])

    @staticmethod
    def _leads(leads: Sequence[Lead], output: int, reel: str) -> Iterator[Strip]:
        """Yield what stands before or after the film, in the list of the reel beside it."""
        for lead in leads:
            strip = Strip(output=output, frames=lead.frames, reel=reel, shows=Shows.BLACK)
            if lead.plate is not None:
                moving = Fraction(lead.moving)
                frame = lead.plate.frame or 0
                strip = replace(
                    strip, shows=Shows.PLATE, plate=lead.plate.address, first=frame, ratio=moving
                )
            yield strip
            output += lead.frames

    def _strips(self) -> Iterator[Strip]:
        """Yield the film's strips; a frame of two fields belongs to the first one's."""
        for index, group in groupby(self._plan.pieces, key=lambda piece: piece.stretch):
            pieces = list(group)
            first = self._frame_of(pieces[0].pulse_first)
            stop = self._frame_of(pieces[-1].pulse_stop)
            if stop > first:
                stretch = self._plan.timeline.stretches[index]
                plain = self._named(stretch, first, stop - first)
                yield self._paced(plain, stretch, pieces)

    def _frame_of(self, pulse: int) -> int:
        """Return the output frame of the file whose first field is a pulse's, or comes next."""
        frame = -(-self._plan.carry.first_field(pulse) // 2)
        return self._plan.head_frames + min(frame, self._plan.outputs)

    def _named(self, stretch: Stretch, output: int, frames: int) -> Strip:
        unit = self._plan.timeline.units[stretch.unit]
        reel = self._reels[unit.reel]
        title = unit.name
        if unit.shot is not None:
            title = self._titles.get(ShotKey(reel, unit.shot))
        return Strip(
            output=output, frames=frames, reel=reel, shot=unit.shot, kind=unit.kind, name=title
        )

    def _paced(self, strip: Strip, stretch: Stretch, pieces: Sequence[Piece]) -> Strip:
        """Return a strip with what it shows, and at which pace."""
        match stretch.shows:
            case Slots.BLACK:
                return replace(strip, shows=Shows.BLACK)
            case Slots.PLATE:
                address = stretch.plate.address if stretch.plate else None
                return replace(strip, shows=Shows.PLATE, plate=address)
            case Slots.STILL:
                return replace(
                    strip, shows=Shows.HELD, first=self._told(strip, stretch.first), count=1
                )
        low, high = sorted((stretch.first, stretch.last))
        first, last = self._told(strip, low), self._told(strip, high)
        strip = replace(strip, first=first, count=last - first + 1)
        if stretch.hold:
            return replace(strip, shows=Shows.HELD)
        strip = replace(strip, sifted=strip.count != high - low + 1)
        if isinstance(stretch.pace, Even):
            return self._steady(strip, stretch, stretch.pace)
        return self._ramping(strip, stretch, stretch.pace, pieces)

    def _steady(self, strip: Strip, stretch: Stretch, pace: Even) -> Strip:
        speed = 1 / pace.duration
        ratio = speed / self._plan.conform.at.fps
        if strip.sifted:
            ratio *= Fraction(strip.count, stretch.count)
        return replace(strip, speed=speed, ratio=-ratio if stretch.backward else ratio)

    def _ramping(
        self, strip: Strip, stretch: Stretch, pace: Eased, pieces: Sequence[Piece]
    ) -> Strip:
        """Return a strip of a ramp, its mean as its pace, and how far that strays."""
        ends = [self._duration(pace, slot) for slot in (0, stretch.count - 1)]
        pulses = sum(piece.count for piece in pieces)
        mean = Fraction(stretch.count, pulses)
        strays = k = 0
        for piece in pieces:
            for slot, times in piece.rule.runs(piece.count):
                at = (k * mean.numerator // mean.denominator, (k + times - 1) * mean)
                strays = max(strays, abs(at[0] - slot), abs(int(at[1]) - slot))
                k += times
        return replace(
            strip,
            ratio=Fraction(strip.count, strip.frames),
            ramp=(1 / ends[0], 1 / ends[1]),
            strays=strays,
        )

    @staticmethod
    def _duration(pace: Eased, slot: int) -> Fraction:
        return pace.elapsed(slot + 1) - pace.elapsed(slot)

    def _told(self, strip: Strip, frame: int) -> int:
        return self._making.told(strip.reel, frame)

    def _run(self, output: int, times: int, part: Part) -> Strip:
        if part.unit is None or part.reel is None:
            raise TypeError("a frame of the film is in no shot")
        unit = self._plan.timeline.units[part.unit]
        reel = self._reels[part.reel]
        title = unit.name
        if unit.shot is not None:
            title = self._titles.get(ShotKey(reel, unit.shot))
        strip = Strip(
            output=output,
            frames=times,
            reel=reel,
            shows=Shows.HELD,
            shot=unit.shot,
            kind=unit.kind,
            name=title,
        )
        if part.frame is not None:
            return replace(strip, first=self._told(strip, part.frame))
        if part.plate is None:
            return replace(strip, shows=Shows.BLACK)
        return replace(strip, shows=Shows.PLATE, plate=part.plate.address)
