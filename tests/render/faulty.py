"""Correct files with one fault put into them on purpose: decoded, changed, coded again.

Everything here is the ffmpeg program's work and this module's, none of it retime's.
"""

from __future__ import annotations

import random
import subprocess
from dataclasses import dataclass
from typing import TYPE_CHECKING

import imageio_ffmpeg

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

__all__ = ["Coding", "Fault", "decoded", "encode", "faults", "field_faults"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Coding:
    """A raster, pixel format and rate, and how it is coded."""

    width: int
    height: int
    pixel_format: str
    rate: str
    ending: str
    options: tuple[str, ...]

    @property
    def bytes(self) -> int:
        """How many bytes a picture takes."""
        samples = self.width * self.height
        return {"gray": samples, "yuv420p": samples * 3 // 2, "yuv422p10le": samples * 4}[
            self.pixel_format
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What was done, the pictures now, and the output frames at one of which it must be told."""

    name: str
    pictures: Sequence[bytes]
    rules: frozenset[str]
    places: range


def decoded(path: Path, coding: Coding) -> list[bytes]:
    """Return a file's pictures as raw bytes."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", "-i", str(path)]
    command += ["-fps_mode", "passthrough", "-pix_fmt", coding.pixel_format, "-f", "rawvideo", "-"]
    raw = subprocess.run(command, capture_output=True, check=True).stdout
    size = coding.bytes
    assert raw
    assert len(raw) % size == 0
    return [raw[at : at + size] for at in range(0, len(raw), size)]


def encode(pictures: Sequence[bytes], coding: Coding, path: Path) -> Path:
    """Write pictures into a file."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", "-y", "-f", "rawvideo"]
    command += ["-pix_fmt", coding.pixel_format, "-s", f"{coding.width}x{coding.height}"]
    command += ["-r", coding.rate, "-i", "-", *coding.options, str(path)]
    subprocess.run(command, input=b"".join(pictures), check=True, capture_output=True)
    return path


WRONG = frozenset({"wrong frame", "cut"})
MISSING, EXTRA = frozenset({"missing"}), frozenset({"extra"})


def faults(
    pictures: Sequence[bytes], runs: Sequence[int], cuts: Sequence[int], seed: int
) -> Iterator[Fault]:
    """Yield files with one fault each.

    ``runs`` has for every output frame the number of the run that it belongs to: pictures of one
    run are alike, so that only changes from run to run are faults. ``cuts`` are the output frames
    with which a shot begins.
    """
    rng = random.Random(seed)  # noqa: S311 - chance here is no secret
    count = len(pictures)
    firsts = [at for at in range(2, count - 8) if runs[at] != runs[at - 1]]
    for at in rng.sample(firsts, 3):
        swapped = [*pictures[: at - 1], pictures[at], pictures[at - 1], *pictures[at + 1 :]]
        yield Fault(
            name=f"swapped {at}", pictures=swapped, rules=WRONG, places=range(at - 1, at + 1)
        )
    for at in rng.sample(firsts, 3):
        start, stop = _run(runs, at)
        dropped = [*pictures[:at], *pictures[at + 1 :]]
        yield Fault(
            name=f"dropped {at}",
            pictures=dropped,
            rules=MISSING,
            places=range(start - 1, stop + 1),
        )
        doubled = [*pictures[:at], pictures[at], *pictures[at:]]
        yield Fault(
            name=f"doubled {at}", pictures=doubled, rules=EXTRA, places=range(start, stop + 2)
        )
    for at in rng.sample(firsts, 2):
        far = (at + count // 2) % count
        replaced = [*pictures[:at], pictures[far], *pictures[at + 1 :]]
        yield Fault(name=f"replaced {at}", pictures=replaced, rules=WRONG, places=range(at, at + 1))
    for cut in cuts:
        late = [*pictures[:cut], pictures[cut - 1], *pictures[cut + 1 :]]
        yield Fault(name=f"cut late {cut}", pictures=late, rules=WRONG, places=range(cut, cut + 1))
        early = [*pictures[: cut - 1], pictures[cut], *pictures[cut:]]
        yield Fault(
            name=f"cut early {cut}", pictures=early, rules=WRONG, places=range(cut - 1, cut)
        )
    for left in (1, 5):
        yield Fault(
            name=f"{left} gone at the end",
            pictures=pictures[: count - left],
            rules=MISSING,
            places=range(_run(runs, count - left)[0] - 1, count),
        )
    at = firsts[len(firsts) // 2]
    yield Fault(
        name="a second gone",
        pictures=[*pictures[:at], *pictures[at + 10 :]],
        rules=MISSING,
        places=range(_run(runs, at)[0] - 1, _run(runs, at)[1] + 1),
    )


def field_faults(pictures: Sequence[bytes], coding: Coding) -> Iterator[Fault]:
    """Yield an interlaced file whose fields are exchanged in time, all of them or from a place."""
    exchanged = _fields_exchanged(pictures, coding)
    everywhere = frozenset({"field order"})
    yield Fault(
        name="fields exchanged",
        pictures=exchanged,
        rules=everywhere,
        places=range(len(pictures)),
    )
    half = len(pictures) // 2
    yield Fault(
        name="fields exchanged half-way",
        pictures=[*pictures[:half], *exchanged[half:]],
        rules=everywhere,
        places=range(half, len(pictures)),
    )


def _fields_exchanged(pictures: Sequence[bytes], coding: Coding) -> list[bytes]:
    """Return frames of the next frame's upper lines and their own lower lines, as delay makes."""
    if coding.pixel_format != "gray":
        raise ValueError(coding.pixel_format)
    width = coding.width
    made = []
    for picture in pictures:
        lines = [picture[at : at + width] for at in range(0, len(picture), width)]
        pairs = zip(lines[::2], lines[1::2], strict=True)
        made.append(b"".join(line for upper, lower in pairs for line in (lower, upper)))
    return made


def _run(runs: Sequence[int], at: int) -> tuple[int, int]:
    """Return the first and the last output frame of a run."""
    first = last = at
    while first > 0 and runs[first - 1] == runs[at]:
        first -= 1
    while last + 1 < len(runs) and runs[last + 1] == runs[at]:
        last += 1
    return first, last
