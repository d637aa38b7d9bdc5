"""Where deliverables go, and what may not be overwritten on the way."""

from __future__ import annotations

import os
import re
from typing import TYPE_CHECKING

from retime.edition.inputs import input_files
from retime.errors import OutputError
from retime.profile.model import Container
from retime.render.containers import copy_container

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from retime.edition.edition import Edition, Making

__all__ = ["check_free", "check_replaceable", "container_of", "final_path", "taken", "work_path"]

_ELSEWHERE = "render into another folder"


def container_of(making: Making) -> str:
    """Return the ending of a deliverable's file, or ``sequence``."""
    if making.profile.container is not None:
        return str(making.profile.container)
    facts = making.scans[0].facts
    return (facts and copy_container(facts)) or str(Container.SEQUENCE)


def final_path(edition: Edition, making: Making, folder: Path) -> Path:
    """Return the file, or a sequence's folder, that a deliverable becomes."""
    container = container_of(making)
    file = making.deliverable.file
    if container == Container.SEQUENCE:
        return folder / (file or f"{edition.speed_map.film}-{making.name}")
    return folder / (file or f"{edition.speed_map.film}-{making.name}.{container}")


def work_path(final: Path) -> Path:
    """Return the name under which a deliverable is written until it is complete."""
    return final.with_name(f".{final.name}.unfinished")


def check_free(edition: Edition, finals: Iterable[Path], *, force: bool) -> None:
    """Raise OutputError for a path that may not be written, whatever is or is not there now.

    That is one of the inputs or a folder around one, always; and what exists already, unless
    ``force`` is given, and even then a folder that was not made here.
    """
    inputs = [one.resolve() for one in input_files(edition)]
    for final in finals:
        for path in (final, work_path(final)):
            _check_no_input(path, inputs)
        if not os.path.lexists(final):
            continue
        if not force:
            raise taken(final)
        check_replaceable(final)


def _check_no_input(path: Path, inputs: Iterable[Path]) -> None:
    whole = path.resolve()
    for one in inputs:
        if whole == one or (path.exists() and one.exists() and path.samefile(one)):
            raise OutputError(path, "is one of the inputs", _ELSEWHERE)
        if whole in one.parents:
            raise OutputError(path, f"is a folder that an input is in, {one}", _ELSEWHERE)
        if path.is_file() and one.is_dir() and whole.parent == one:
            raise OutputError(path, "lies among the files of a scan", _ELSEWHERE)


def check_replaceable(final: Path) -> None:
    """Raise OutputError for a folder that holds anything but the files of a sequence made here."""
    if not final.is_dir() or final.is_symlink():
        return
    made = re.compile(rf"{re.escape(final.name)}\.\d+\.\w+|about\.json")
    for inside in final.iterdir():
        if inside.is_dir() or not made.fullmatch(inside.name):
            raise OutputError(
                final,
                f"is a folder that holds {inside.name}, which is no part of a rendered sequence",
                "even --force does not remove it: move it away, or render into another folder",
            )


def taken(final: Path) -> OutputError:
    """Return the error for a name that something has already."""
    return OutputError(final, "exists already", "use --force to overwrite it")
