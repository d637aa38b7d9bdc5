"""Small steady pictures of a box of the scan, one a film frame."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from av.video.reformatter import VideoReformatter
from msgspec import Struct

from retime.errors import ScanError
from retime.media.reader import read_frames
from retime.pace.box import Area
from retime.pace.reducing import reduced
from retime.pace.steadying import STILL, WHITE, Steadier
from retime.picture.formats import Family, layout_of
from retime.picture.samples import SampleForm, sample_form, samples

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from av.video.frame import VideoFrame
    from numpy.typing import NDArray

    from retime.media.facts import ScanFacts
    from retime.pace.box import Course
    from retime.pace.reducing import Picture

    Planes = Callable[[], Iterator[NDArray[np.unsignedinteger]]]

__all__ = ["SMALL", "Pictures", "planes_of", "small_pictures"]

SMALL = (64, 64)
"""The most rows and columns of the small picture of a box."""

_FORM = SampleForm(kind=np.dtype("<u2"), per_pixel=1)
_MOST = 16_000_000  # values in all


class Pictures(Struct, frozen=True, kw_only=True):
    """What was seen: ``frames`` of shape (frames, rows, columns), black 0 and white 1.

    They show the area around all places of the box; ``areas`` are those places in their own
    samples, one a frame. ``steady`` tells whether the camera stood still, so that what does not
    move lies in one place; else weave is in them, and what they show moves by.
    """

    frames: NDArray[np.float32]
    areas: tuple[Area, ...]
    steady: bool

    @property
    def box(self) -> tuple[int, int]:
        """Rows and columns of the box."""
        return max(1, round(self.areas[0].height)), max(1, round(self.areas[0].width))


def planes_of(facts: ScanFacts, first: int, last: int) -> Planes:
    """Return what reads the luma of a scan's frames, both included, white being about 65535.

    Raises ScanError, when it reads, as ``read_frames`` does, and for a missing file.
    """

    def read() -> Iterator[NDArray[np.unsignedinteger]]:
        luma = _luma_reader(facts.picture.pixel_format)
        for position, frame in enumerate(read_frames(facts, first, last), first):
            if frame is None:
                hint = "take frames without a hole"
                raise ScanError(facts.path, f"has no file for frame {position}", hint)
            yield luma(frame)

    return read


def _luma_reader(pixel_format: str) -> Callable[[VideoFrame], NDArray[np.unsignedinteger]]:
    """Return what reads the luma of frames: the plane itself, or what FFmpeg's scaler makes."""
    layout, form = layout_of(pixel_format), sample_form(pixel_format)
    if form is None or form.per_pixel > 1 or layout.family not in {Family.GREY, Family.YUV}:
        scaler = VideoReformatter()
        return lambda frame: samples(scaler.reformat(frame, format="gray16le").planes[0], _FORM)
    up = np.uint16(1 << (16 - layout.bits))

    def luma(frame: VideoFrame) -> NDArray[np.unsignedinteger]:
        return samples(frame.planes[0], form).astype(np.uint16) * up

    return luma


def small_pictures(planes: Planes, course: Course, most: tuple[int, int] = SMALL) -> Pictures:
    """Return small pictures of the area around a box's course, weave and flicker taken out.

    ``most`` are the most rows and columns for the box. Where the camera does not stand still, the
    frames are read once more and taken as they lie.
    """
    steady = _taken(planes, course, most, steadied=True)
    return steady or _taken(planes, course, most, steadied=False) or _none()


def _none() -> Pictures:
    raise ValueError("no frames")


def _taken(
    planes: Planes, course: Course, most: tuple[int, int], *, steadied: bool
) -> Pictures | None:
    """Return the small pictures, None where they are to be steadied and cannot be."""
    around = course.around
    scale = _scale(course, most)
    shape = max(1, round(around.height / scale)), max(1, round(around.width / scale))
    steadier: Steadier | None = None
    frames: list[Picture] = []
    for number, plane in enumerate(planes()):
        lying = STILL
        if steadied:
            steadier = steadier or Steadier(plane, course.at(0))
            found = steadier.steadiness(plane, course.at(number))
            if found is None:
                return None
            lying = found
        frames.append(
            lying.levelled(reduced(plane, lying.moved(around), shape) / np.float32(WHITE))
        )
    areas = [course.at(number) for number in range(len(frames))]
    return Pictures(
        frames=np.stack(frames),
        areas=tuple(_within(area, around, scale) for area in areas),
        steady=steadied,
    )


def _scale(course: Course, most: tuple[int, int]) -> float:
    """Return how many samples of the scan become one: as few as the limits allow, at least one."""
    boxes = (course.first, course.last)
    by_box = max(max(one.height / most[0], one.width / most[1]) for one in boxes)
    values = course.around.height * course.around.width * course.frames
    return max(1.0, by_box, sqrt(values / _MOST))


def _within(area: Area, around: Area, scale: float) -> Area:
    return Area(
        (area.left - around.left) / scale,
        (area.top - around.top) / scale,
        area.width / scale,
        area.height / scale,
    )
