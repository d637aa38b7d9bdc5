"""What is written beside a deliverable: sound that no container holds, subtitles, lists."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.render.names import work_path

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

__all__ = ["Beside", "beside"]


class Beside(Struct, frozen=True, kw_only=True):
    """One file: its final name, where it is written until all is complete, and how."""

    final: Path
    work: Path
    write: Callable[[Path], None]


def beside(deliverable: Path, ending: str, write: Callable[[Path], None]) -> Beside:
    """Return the file beside a deliverable that has its name and another ending."""
    name = deliverable.name
    stem = name.removesuffix(deliverable.suffix) if deliverable.suffix in _MOVIES else name
    final = deliverable.with_name(f"{stem}.{ending}")
    return Beside(final=final, work=work_path(final), write=write)


_MOVIES = {".mkv", ".mov", ".mp4", ".mxf", ".m2v", ".264", ".mpg", ".ts", ".m2ts"}
