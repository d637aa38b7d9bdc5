"""The flash check of a map: one film at the speeds of all its deliverables, side by side.

Flashes come faster the faster a film runs, so each deliverable has an answer of its own. The scans
are read once, as blocks; these are laid on the times of every deliverable's plan. What is looked at
is the film's own picture, as the map frames it, taken to fill the screen: bars beside it, or what a
raster cuts off, are looked past. A still that is put in fills it too.
"""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec.structs import replace

from retime.check.flash_film import FlashFilm
from retime.check.flash_limits import edges_apart
from retime.check.flashes import FlashMeter
from retime.film.rounding import floor_of
from retime.film.timecode import day_of, label

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from retime.check.flash_seconds import Run
    from retime.check.flashes import Answer, FlashReport
    from retime.edition.edition import Edition, Making
    from retime.plan.look import Look

__all__ = ["flashes_of_map"]


def flashes_of_map(
    edition: Edition, seen: Callable[[], None] | None = None
) -> tuple[FlashReport, ...]:
    """Return the flashes of every deliverable; ``seen`` is called for each picture of the scans.

    Raises ScanError where a scan is away, or cannot be read.
    """
    with FlashFilm(edition, seen) as film:
        return tuple(_flashes_of(making, film) for making in edition.makings)


def _flashes_of(making: Making, film: FlashFilm) -> FlashReport:
    rate = making.plan.conform.rate
    meter = FlashMeter(film.aspect_of(making), edges_apart(rate))
    for time, look in _timed(making):
        meter.see(film.picture(making, look), time)
    found = meter.report(
        making.name,
        making.plan.total_runtime,
        version=making.deliverable.version,
        rate=rate.fps,
    )
    places = _Places(making)
    return replace(found, answers=tuple(places.answer(one) for one in found.answers))


def _timed(making: Making) -> Iterator[tuple[Fraction, Look]]:
    """Yield what a deliverable shows, and the exact time at which it comes; repeats are no news."""
    frame, rate = 0, making.plan.conform.rate.fps
    for times, looks in making.plan.pictures():
        changing = len(looks) > 1
        for at in range(times if changing else 1):
            for field, look in enumerate(looks):
                yield (frame + at + Fraction(field, 2)) / rate, look
        frame += times


class _Places:
    """What stands where in a deliverable: labels, and shots by the timeline's names."""

    def __init__(self, making: Making) -> None:
        plan = making.plan
        self._making, self._rate = making, plan.conform.rate
        fields = plan.unit_fields()
        self._firsts = [first for first, _ in fields.values()]
        self._names = [plan.timeline.unit_name(unit) for unit in fields]
        self._stop = 2 * (plan.head_frames + plan.outputs)

    def answer(self, answer: Answer) -> Answer:
        """Return an answer whose runs say where they are."""
        worst = None if answer.worst is None else self._run(answer.worst)
        return replace(answer, worst=worst, failing=tuple(map(self._run, answer.failing)))

    def _run(self, run: Run) -> Run:
        first, last = self._name(run.start), self._name(run.stop)
        where = first if first == last else f"{first} to {last}"
        return replace(run, where=where, timecode=self._label(run.start))

    def _name(self, time: Fraction) -> str:
        field = floor_of(time * self._rate.fps * 2)
        if field >= self._stop:
            return "after the film"
        number = bisect_right(self._firsts, field) - 1
        return "before the film" if number < 0 else self._names[number]

    def _label(self, time: Fraction) -> str | None:
        if self._rate.nominal.fps.denominator != 1:
            return None
        frame = self._making.start + floor_of(time * self._rate.fps)
        drop = self._making.drop_frame
        return label(frame % day_of(self._rate, drop=drop), self._rate, drop=drop)
