"""Sound as the second reader decodes it: samples in blocks, and a digest of all of them."""

from __future__ import annotations

import struct
from typing import IO, TYPE_CHECKING

import numpy as np
from msgspec import Struct

from retime.errors import ScanError
from retime.second.program import Running

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["SoundForm", "sound_blocks", "sound_digest", "sound_form"]

_BLOCK = 1 << 16
# The header of AU (Sun Microsystems' audio file format), which tells rate and channels ahead of
# samples of single precision: enough for 24 bits, and for what codecs make.
_HEADER = struct.Struct(">4s5I")
_SAMPLE = 4


class SoundForm(Struct, frozen=True, kw_only=True):
    """``rate`` in samples a second, and the number of channels."""

    rate: int
    channels: int


def sound_form(path: Path, stream: int = 0) -> SoundForm:
    """Return the form of a stream of sound, counted from 0; raises ScanError if there is none."""
    with _decoding(path, stream) as running:
        return _form(running, path)


def sound_blocks(path: Path, stream: int = 0) -> Generator[NDArray[np.float32]]:
    """Yield a stream's samples, shape (samples, channels), full scale being 1.

    Raises ScanError where there is no such stream, or it cannot be decoded to its end; whatever
    could be decoded has been yielded by then.
    """
    with _decoding(path, stream) as running:
        form = _form(running, path)
        size = _SAMPLE * form.channels
        while data := running.out.read(_BLOCK * size):
            whole = len(data) - len(data) % size
            block = np.frombuffer(data[:whole], ">f4").reshape(-1, form.channels)
            yield block.astype(np.float32)
        if running.done():
            raise _unread(path, running, "the ffmpeg program cannot decode all of its sound")


def sound_digest(path: Path, stream: int = 0) -> str:
    """Return a digest of a stream's samples as 32-bit integers, whatever file they stand in.

    Raises ScanError as ``sound_blocks`` does.
    """
    arguments = [*_input(path, stream), "-c:a", "pcm_s32le", "-f", "hash", "-hash", "murmur3", "-"]
    with Running(arguments) as running:
        told = running.out.read().decode("ascii", "replace").strip()
        if running.done() or "=" not in told:
            raise _unread(path, running, "the ffmpeg program cannot decode all of its sound")
    return told.partition("=")[2]


def _input(path: Path, stream: int) -> list[str]:
    where = ["-protocol_whitelist", "file", "-i", str(path.absolute())]
    return [*where, "-map", f"0:a:{stream}"]


def _decoding(path: Path, stream: int) -> Running:
    return Running([*_input(path, stream), "-c:a", "pcm_f32be", "-f", "au", "pipe:1"])


def _form(running: Running, path: Path) -> SoundForm:
    head = running.out.read(_HEADER.size)
    if len(head) < _HEADER.size:
        raise _unread(path, running, "has no such sound")
    _, begin, _, _, rate, channels = _HEADER.unpack(head)
    _skip(running.out, begin - _HEADER.size)
    return SoundForm(rate=rate, channels=channels)


def _skip(out: IO[bytes], count: int) -> None:
    out.read(count)


def _unread(path: Path, running: Running, text: str) -> ScanError:
    running.done()
    words = [line.strip() for line in running.words().splitlines() if line.strip()]
    return ScanError(path, text, detail=words[-1] if words else "")
