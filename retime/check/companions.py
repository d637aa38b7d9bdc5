"""Where the sound and the subtitles of a deliverable should be: inside its file, or beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from pathlib import Path

    from retime.edition.edition import Making

__all__ = ["SUBTITLED", "SoundPlace", "beside", "sound_places"]

SUBTITLED = {"mkv": "subrip", "mov": "mov_text", "mp4": "mov_text"}
"""How subtitles are coded in the files that hold them; with others they lie beside."""

_SEQUENCE = "sequence"


class SoundPlace(Struct, frozen=True, kw_only=True):
    """A file and the number of a stream of sound in it; ``inside`` if pictures are in it too."""

    path: Path
    stream: int
    inside: bool


def beside(making: Making, path: Path, ending: str) -> Path:
    """Return the file beside a deliverable that has its name and another ending."""
    whole = path.is_dir() or making.profile.container == _SEQUENCE
    name = path.name if whole else path.name.removesuffix(path.suffix)
    return path.with_name(f"{name}.{ending}")


def sound_places(making: Making, path: Path) -> tuple[SoundPlace, ...]:
    """Return where each recording of a deliverable should be found, in the map's order."""
    spec, count = making.profile.sound, len(making.deliverable.sound)
    if spec is None:
        return ()
    if spec.inside(str(making.profile.container)):
        return tuple(SoundPlace(path=path, stream=one, inside=True) for one in range(count))
    endings = [spec.ending]
    if count > 1:
        endings = [f"{number}.{spec.ending}" for number in range(1, count + 1)]
    return tuple(
        SoundPlace(path=beside(making, path, ending), stream=0, inside=False)
        for ending in endings[:count]
    )
