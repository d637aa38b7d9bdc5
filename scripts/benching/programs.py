"""The command lines of both sides: retime's own, and ffmpeg's with the same encoder options."""

import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

import imageio_ffmpeg

from retime.profile.shelf import shelf

__all__ = ["PYTHON", "encoder", "ffmpeg", "retime", "retimed", "split"]

PYTHON = sys.executable


def retime(*arguments: str | Path) -> list[str | Path]:
    """Return a command line of ours."""
    return [PYTHON, "-m", "retime", "--quiet", *arguments]


def ffmpeg(*arguments: str | Path) -> list[str | Path]:
    """Return a command line of the program that imageio-ffmpeg ships."""
    return [imageio_ffmpeg.get_ffmpeg_exe(), "-nostdin", "-v", "error", "-y", *arguments]


def encoder(profile: str, changed: Mapping[str, str] | None = None) -> list[str]:
    """Return the options that make ffmpeg encode as a profile of retime's does.

    ``changed`` are encoder options that are to differ from the profile's.
    """
    asked = shelf().load(profile)
    if asked.codec is None:
        raise TypeError(profile)
    parts = ["-c:v", asked.codec.encoder, "-threads", str(asked.threads)]
    for name, value in {**asked.encoder_options(), **(changed or {})}.items():
        parts += [f"-{name}:v", value]
    if asked.pixel_formats:
        parts += ["-pix_fmt", asked.pixel_formats[0]]
    return parts


def retimed(speed: int, rate: int) -> str:
    """Return the filters that run a scan at a speed in a rate."""
    return f"setpts=N/{speed}/TB,fps={rate}"


def split(
    scan: Path, made: Mapping[Path, tuple[int, int]], options: Sequence[str]
) -> list[str | Path]:
    """Return one command that makes several files, each of a speed and a rate.

    One input with several outputs of differing ``setpts`` hangs in FFmpeg 9, so the pictures are
    split within one filter graph.
    """
    names = [f"branch{number}" for number in range(len(made))]
    graph = f"[0:v]split={len(made)}" + "".join(f"[{name}]" for name in names)
    for name, (speed, rate) in zip(names, made.values(), strict=True):
        graph += f";[{name}]{retimed(speed, rate)}[{name}out]"
    outputs: list[str | Path] = []
    for name, path in zip(names, made, strict=True):
        outputs += ["-map", f"[{name}out]", *options, path]
    return ffmpeg("-i", scan, "-filter_complex", graph, *outputs)
