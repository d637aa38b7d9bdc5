"""Where deliverables go, and what may not be overwritten on the way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import OutputError
from retime.profile.model import Container

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from retime.edition.edition import Edition, Making

__all__ = ["check_free", "container_of", "final_path", "work_path"]

_AS_SCANNED = {"matroska": "mkv", "mov": "mov", "mxf": "mov", "avi": "mov", "nut": "mkv"}


def container_of(edition: Edition, making: Making) -> str:
    """Return the ending of a deliverable's file, or ``sequence``."""
    if making.profile.container is not None:
        return str(making.profile.container)
    facts = edition.scans[0].facts
    if facts is None or facts.form == "sequence":
        return str(Container.SEQUENCE)
    if facts.codec in {"ffv1", "rawvideo"}:
        return "mkv" if "matroska" in facts.container else "mov"
    names = facts.container.split(",")
    return next((_AS_SCANNED[name] for name in names if name in _AS_SCANNED), "mov")


def final_path(edition: Edition, making: Making, folder: Path) -> Path:
    """Return the file, or a sequence's folder, that a deliverable becomes."""
    container = container_of(edition, making)
    file = making.deliverable.file
    if container == Container.SEQUENCE:
        return folder / (file or f"{edition.speed_map.film}-{making.name}")
    return folder / (file or f"{edition.speed_map.film}-{making.name}.{container}")


def work_path(final: Path) -> Path:
    """Return the name under which a deliverable is written until it is complete."""
    return final.with_name(f".{final.name}.unfinished")


def check_free(edition: Edition, finals: Iterable[Path], *, force: bool) -> None:
    """Raise OutputError for a path that is taken, or that is one of the inputs."""
    inputs = [edition.speed_map.tree.path]
    inputs += [scan.path.parent if scan.sequence else scan.path for scan in edition.scans]
    for final in finals:
        if any(_same(final, one) for one in inputs):
            raise OutputError(final, "is one of the inputs", "render into another folder")
        if not final.exists() and not final.is_symlink():
            continue
        if not force:
            raise OutputError(final, "exists already", "use --force to overwrite it")


def _same(one: Path, other: Path) -> bool:
    return one.resolve() == other.resolve() or (
        one.exists() and other.exists() and one.samefile(other)
    )
