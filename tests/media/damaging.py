"""What the tests of media share: coded frames as bytes, damage at known places, the program."""

from __future__ import annotations

import subprocess
from typing import TYPE_CHECKING

import av
import imageio_ffmpeg

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

__all__ = ["cut_short", "damage", "packets_of", "program"]


def packets_of(path: Path) -> list[bytes]:
    """Return a movie's coded frames."""
    with av.open(str(path)) as container:
        return [bytes(packet) for packet in container.demux(video=0) if packet.size]


def damage(path: Path, frame: int, *, much: bool = False) -> Path:
    """Change one coded frame of a movie in its middle: one byte, or ``much``, a third of it."""
    packet = packets_of(path)[frame]
    data = bytearray(path.read_bytes())
    start, third = data.index(packet), len(packet) // 3
    if much:
        data[start + third : start + 2 * third] = bytes(third)
    else:
        data[start + len(packet) // 2] ^= 0x5A
    path.write_bytes(data)
    return path


def cut_short(path: Path, share: float) -> Path:
    """Keep only a share of a file, from its start."""
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    return path


def program(*arguments: object, pass_fds: Sequence[int] = ()) -> None:
    """Run the ffmpeg program with arguments, quietly."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", "-y"]
    subprocess.run([*command, *map(str, arguments)], check=True, pass_fds=pass_fds)
