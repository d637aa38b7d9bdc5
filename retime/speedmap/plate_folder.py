"""A folder of remade titles, each in a file that is named by the shot it replaces.

``1-3.png`` replaces shot 3 of reel 1: a file's name cannot hold the slash of ``1/3``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from pathlib import Path

    from retime.speedmap.model import ShotKey

__all__ = ["PlateFolder", "plates_in"]


class PlateFolder(Struct, frozen=True, kw_only=True):
    """The files of a folder by the shots they replace.

    ``strange`` are those named by no shot, ``errors`` what is wrong, each with what would be right.
    """

    plates: Mapping[ShotKey, str]
    strange: tuple[str, ...] = ()
    errors: tuple[tuple[str, str], ...] = ()


def plates_in(folder: Path, shots: Collection[ShotKey]) -> PlateFolder:
    """Look through a folder; files whose names begin with a dot are passed over."""
    try:
        names = sorted(one.name for one in folder.iterdir() if one.name[0] != ".")
    except OSError as error:
        what = f"the folder {folder} cannot be listed: {error.strerror}"
        return PlateFolder(plates={}, errors=((what, "name a folder of pictures"),))
    named = {f"{key.reel}-{key.shot}": key for key in shots}
    plates: dict[ShotKey, str] = {}
    strange: list[str] = []
    errors: list[tuple[str, str]] = []
    for name in names:
        key = named.get(name.rpartition(".")[0])
        if key is None:
            strange.append(name)
        elif key in plates:
            what = f"{quoted(plates[key])} and {quoted(name)} both replace shot {key}"
            errors.append((what, "move one of them away"))
        else:
            plates[key] = name
    return PlateFolder(plates=plates, strange=tuple(strange), errors=tuple(errors))
