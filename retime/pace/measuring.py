"""How many film frames a movement takes, measured in the pictures of a scan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import CommandError
from retime.light.raster import Rectangle
from retime.media.count import frame_count
from retime.media.probe import probe
from retime.pace.box import Course, check_inside
from retime.pace.counting import Paced, counted
from retime.pace.falling import TALL, edges_of
from retime.pace.pictures import planes_of, small_pictures
from retime.pace.views import views_of
from retime.signal.fall import fallen
from retime.signal.period import FEWEST, Unclear, find_period

if TYPE_CHECKING:
    from collections.abc import Mapping
    from fractions import Fraction
    from pathlib import Path

    from retime.media.facts import ScanFacts
    from retime.pace.motion import Motion
    from retime.pace.pictures import Planes

__all__ = ["MOST", "Look", "check_frames", "look_at", "measured"]

MOST = 4_000
"""The most frames that are looked at: at 16 a second more than four minutes of one movement."""


class Look(Struct, frozen=True, kw_only=True):
    """Which frames of a scan are looked at, both included, and where."""

    facts: ScanFacts
    first: int
    last: int
    box: Rectangle
    box_to: Rectangle

    @property
    def frames(self) -> int:
        """How many frames are looked at."""
        return self.last - self.first + 1


def look_at(
    scan: Path,
    frames: tuple[int | None, int | None],
    boxes: tuple[Rectangle | None, Rectangle | None],
    *,
    cache: Path | None,
) -> Look:
    """Return what is to be looked at, all of the scan where nothing else is said.

    ``frames`` are the first and the last, ``boxes`` those at the first and at the last. Raises
    ScanError for what is no scan, and CommandError for frames or boxes that it has not.
    """
    facts = probe(scan)
    count = frame_count(facts, cache=cache)
    first = 0 if frames[0] is None else frames[0]
    last = count - 1 if frames[1] is None else frames[1]
    check_frames({"--from": first, "--to": last}, scan, count)
    if last < first:
        raise CommandError(f"--to {last} comes before --from {first}", "both are included")
    if not FEWEST <= last - first + 1 <= MOST:
        raise CommandError(
            f"{last - first + 1} frames are no number of frames to look at",
            f"take {FEWEST} to {MOST} with --from and --to, best six periods or more of one shot",
        )
    size = facts.picture.width, facts.picture.height
    whole = Rectangle(left=0, top=0, width=size[0], height=size[1])
    box = boxes[0] or whole
    box_to = boxes[1] or box
    check_inside("--box", box, *size)
    check_inside("--box-to", box_to, *size)
    return Look(facts=facts, first=first, last=last, box=box, box_to=box_to)


def check_frames(frames: Mapping[str, Fraction | int], scan: Path, count: int) -> None:
    """Refuse frames, by the options that name them, that a scan of so many frames has not.

    Raises CommandError.
    """
    for option, frame in frames.items():
        if frame > count - 1:
            raise CommandError(
                f"{option}: there is no frame {float(frame):g} in {scan}",
                f"it has {count} frames, 0 to {count - 1}",
            )


def measured(look: Look, motion: Motion | None) -> Paced | Unclear:
    """Return how many frames a movement takes, by the pictures.

    Raises ScanError where they cannot be read.
    """
    course = Course(first=look.box, last=look.box_to, frames=look.frames)
    planes = planes_of(look.facts, look.first, look.last)
    if motion is not None and motion.falls:
        return _fall(planes, course, look.first)
    found = find_period(views_of(small_pictures(planes, course)).every)
    return found if isinstance(found, Unclear) else counted(found, motion)


def _fall(planes: Planes, course: Course, first: int) -> Paced | Unclear:
    pictures = small_pictures(planes, course, TALL)
    fall = fallen(*edges_of(pictures), pictures.frames.shape[1])
    if isinstance(fall, Unclear):
        return fall
    said = f"let go at frame {first + fall.let_go:.1f}, on the ground at {first + fall.landed:.1f}"
    return Paced(
        frames=fall.frames,
        uncertainty=fall.uncertainty,
        confidence=fall.agreed,
        seen=1.0,
        notes=(said,),
    )
