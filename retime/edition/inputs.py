"""Every file that an edition is made from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.baked import BakedFrom

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from retime.edition.edition import Edition
    from retime.speedmap.model import SpeedMap

__all__ = ["input_files"]


def input_files(edition: Edition) -> set[Path]:
    """Return them all; of a numbered scan it is the folder that its files are in."""
    speed_map = edition.speed_map
    return {
        speed_map.tree.path,
        *(shot.where.of().path for shot in speed_map.shots),
        *(making.profile.path for making in edition.makings),
        *(scan.path.parent if scan.sequence else scan.path for scan in edition.scans),
        *(source.path for source in edition.plates.values()),
        *(speed_map.folder / name for name in _named_in(speed_map)),
    }


def _named_in(speed_map: SpeedMap) -> Iterator[str]:
    """Yield recordings, subtitles and cadences, by the names that the map gives them."""
    for deliverable in speed_map.deliverables.values():
        yield from (recording.file for recording in deliverable.sound)
        yield from (subtitles.file for subtitles in deliverable.subtitles)
    for reel in (*speed_map.reels, *speed_map.others):
        if reel.baked is not None and reel.baked.known is BakedFrom.FILE:
            yield reel.baked.text
