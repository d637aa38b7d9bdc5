"""Which of the periods that a movement has is the one that is counted.

Film shows a walker's steps where one leg looks like the other, and strides of two steps where it
does not; half of a pendulum's swing is the other half mirrored. What is counted is known from the
movement: steps, or strides and whole swings. Where the pictures leave that open, a camera that
would have been cranked as none was decides, and it is said so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.signal.period import Other, Unclear

if TYPE_CHECKING:
    from retime.pace.motion import Motion
    from retime.signal.period import Period

__all__ = ["Paced", "counted"]

_STEP = "step"
_HALF_SEEN = 0.3  # how alike the film is after a step, where strides were found
_SLOWEST, _FASTEST = 11, 31  # film frames a second: 12 to 30 (from memory), and a walk's spread
_HALF_HINTED = 0.15  # how alike it may be after that where it is no step
_SURE = 0.5  # a confidence from which on the pictures are believed, whatever follows
_SAME = 0.2


class Paced(Struct, frozen=True, kw_only=True):
    """How many film ``frames`` one of what is counted takes, and the standard ``uncertainty``.

    ``confidence`` is from 0 to 1, and None where the frames were marked by hand. ``seen`` is how
    many there are, ``others`` are what may be meant instead, ``notes`` say how it was chosen.
    """

    frames: float
    uncertainty: float
    confidence: float | None
    seen: float
    others: tuple[Other, ...] = ()
    notes: tuple[str, ...] = ()


def counted(found: Period, motion: Motion | None) -> Paced | Unclear:
    """Return what is counted of a movement that was found to come again.

    Unclear where little is seen, and it may as well be half of that, or would be what no camera
    was cranked for.
    """
    times, note = (1.0, "") if motion is None else _times(found, motion)
    if motion is not None and found.confidence < _SURE:
        again = f"the pictures seem to come again after {found.frames:.1f} frames"
        if _doubtful(found, motion):
            return Unclear(reason=f"{again}, and whether that is one step or two cannot be told")
        if not _likely(found, motion, times):
            speed = float(found.frames * times * motion.frequency.value)
            return Unclear(reason=f"{again}, but then the camera would have run at {speed:.1f} fps")
    others = [one for one in found.others if abs(one.frames / found.frames - times) > _SAME]
    if times != 1:
        others.insert(0, Other(frames=found.frames, strength=found.strength, words=_FOUND[times]))
    return Paced(
        frames=found.frames * times,
        uncertainty=found.uncertainty * times,
        confidence=found.confidence,
        seen=found.seen / times,
        others=tuple(others),
        notes=(note,) if note else (),
    )


_FOUND = {
    0.5: "two of it, after which the pictures are most alike",
    2.0: "half of it, after which the pictures are alike already",
}


def _times(found: Period, motion: Motion) -> tuple[float, str]:
    """Return how many times the period that was found is counted, and why, if not once."""
    again = f"the pictures come again after {found.frames:.2f} frames"
    halved = motion.counted == _STEP and _alike(found, 0.5) >= _HALF_SEEN
    if halved and (_likely(found, motion, 0.5) or not _likely(found, motion, 1)):
        return 0.5, f"{again}: two steps, for they are alike after half of that too"
    if not _likely(found, motion, 1):
        speed = float(found.frames * motion.frequency.value)
        for times, said in ((0.5, f"two {motion.counted}s"), (2.0, f"half a {motion.counted}")):
            if _alike(found, times) > 0 and _likely(found, motion, times):
                return times, f"{again}: {said}, or the camera would have run at {speed:.1f} fps"
    return 1.0, ""


def _doubtful(found: Period, motion: Motion) -> bool:
    """Tell whether what is taken for a step may be a stride, whose halves are somewhat alike."""
    return (
        motion.counted == _STEP
        and _HALF_HINTED <= _alike(found, 0.5) < _HALF_SEEN
        and _likely(found, motion, 0.5)
        and _likely(found, motion, 1)
    )


def _alike(found: Period, times: float) -> float:
    """Return how alike the pictures are after a half or a double of the period, 0 if not at all."""
    near = (one for one in found.others if abs(one.frames / found.frames - times) <= _SAME * times)
    return max((one.strength for one in near), default=0.0)


def _likely(found: Period, motion: Motion, times: float) -> bool:
    """Tell whether a camera can have been cranked so that this many periods are one of it."""
    return _SLOWEST <= found.frames * times * motion.frequency.value <= _FASTEST
