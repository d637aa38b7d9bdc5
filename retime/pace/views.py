"""What moves in a box, as series of numbers: how much it moves, and what shape it has.

Where the camera stands still, what is there most of the time is the background, and the mover is
what differs from it. Differences that noise can make count nothing, and none counts more than the
mover's own do, so that a speck of dirt weighs no more than a sample of the mover.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.pace.reducing import reduced

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.pace.pictures import Pictures
    from retime.pace.reducing import Picture
    from retime.signal.series import Series

__all__ = ["Views", "beyond_noise", "views_of"]

_NORMAL = 1.4826
_NOISE = 4.0  # standard deviations
_MOST = 98  # per cent of what differs differ less: from here on all count the same
_COMPONENTS = 8


class Views(Struct, frozen=True, kw_only=True):
    """Series of one movement, one row a film frame.

    ``shapes`` are what it looks like: the whole and its lower half by their principal components,
    and of the lower half how wide it is and how far ahead of the upper. ``amounts`` are how much
    changes from frame to frame, in the whole and in the lower half.
    """

    shapes: tuple[Series, ...]
    amounts: tuple[Series, ...]

    @property
    def every(self) -> tuple[Series, ...]:
        """All of them."""
        return self.shapes + self.amounts


def views_of(pictures: Pictures) -> Views:
    """Return the series of what moves in the box."""
    frames = pictures.frames
    changed = beyond_noise(np.diff(frames, axis=0, prepend=frames[:1]), frames)
    changed[0] = changed[1]
    changes = _in_box(changed, pictures)
    amounts = tuple(part.mean(axis=(1, 2), dtype=np.float64) for part in (changes, _lower(changes)))
    if not pictures.steady:
        seen = _levelled(_in_box(frames, pictures))
        return Views(shapes=(_components(seen), _components(_lower(seen))), amounts=amounts)
    background: Picture = np.median(frames, axis=0).astype(np.float32)
    mover = _in_box(beyond_noise(frames - background, frames), pictures)
    lower = _lower(mover)
    middle, width = _across(lower)
    ahead = middle - _across(mover[:, : mover.shape[1] - lower.shape[1]])[0]
    shapes = (_components(mover), _components(lower), width, ahead)
    return Views(shapes=shapes, amounts=amounts)


def beyond_noise(differences: Picture, frames: Picture) -> Picture:
    """Return how far differences go beyond what noise makes of frames, at most the mover's."""
    noise = _NORMAL / np.sqrt(2) * float(np.median(np.abs(np.diff(frames, axis=0))))
    beyond = np.maximum(np.abs(differences) - _NOISE * noise, 0)
    real = beyond[beyond > 0]
    limit = np.percentile(real, _MOST) if len(real) else 0.0
    within: Picture = np.minimum(beyond, limit).astype(np.float32)
    return within


def _in_box(frames: Picture, pictures: Pictures) -> Picture:
    """Return what of each frame is in the box, shape (frames, rows, columns)."""
    shape = pictures.box
    return np.stack(
        [reduced(one, area, shape) for one, area in zip(frames, pictures.areas, strict=True)]
    )


def _lower(frames: Picture) -> Picture:
    """Return the lower half of frames: a walker's legs."""
    lower: Picture = frames[:, frames.shape[1] // 2 :]
    return lower


def _levelled(frames: Picture) -> Picture:
    """Return frames of one brightness and one contrast, by their quartiles."""
    low, middle, high = np.percentile(frames, (25, 50, 75), axis=(1, 2))[:, :, None, None]
    level: Picture = (frames - middle) / np.maximum(high - low, np.float32(1e-3))
    return level


def _components(frames: Picture) -> Series:
    """Return the principal components of pictures, the greatest first."""
    flat = frames.reshape(len(frames), -1).astype(np.float64)
    flat -= flat.mean(axis=0)
    # Frames are fewer than samples: their products with each other are the smaller matrix.
    powers, parts = np.linalg.eigh(flat @ flat.T)
    sizes = np.sqrt(np.maximum(powers[::-1][:_COMPONENTS], 0))
    components: NDArray[np.float64] = parts[:, ::-1][:, :_COMPONENTS] * sizes
    return components


def _across(frames: Picture) -> tuple[Series, Series]:
    """Return where the middle of each frame's mover is, in columns, and how wide it is."""
    columns = np.arange(frames.shape[2])
    weights = frames.sum(axis=1, dtype=np.float64)
    total = np.maximum(weights.sum(axis=1), 1e-9)
    middle = weights @ columns / total
    width = np.sqrt((weights * (columns - middle[:, None]) ** 2).sum(axis=1) / total)
    return middle, width
