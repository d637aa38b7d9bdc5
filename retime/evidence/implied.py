"""What an item implies: its section handed to what knows its kind."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from retime.evidence.by_eye import flicker, legibility
from retime.evidence.by_motion import motion
from retime.evidence.by_music import cue_sheet, score
from retime.evidence.by_speed import camera, instruction
from retime.evidence.by_time import programme, runtime, stock
from retime.evidence.by_viewing import viewing
from retime.evidence.model import Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from retime.evidence.by_music import Music
    from retime.evidence.document import AnySection
    from retime.evidence.item_reader import ItemReader
    from retime.evidence.model import Implied
    from retime.evidence.score import ScoreFit

__all__ = ["implied_by"]

_MUSIC: Mapping[Kind, Callable[[Any, ItemReader], Music]] = {
    Kind.SCORE: score,
    Kind.CUE_SHEET: cue_sheet,
}
_OTHERS: Mapping[Kind, Callable[[Any, ItemReader], tuple[Implied, ...]]] = {
    Kind.RUNTIME: runtime,
    Kind.PROGRAMME: programme,
    Kind.INSTRUCTION: instruction,
    Kind.CAMERA: camera,
    Kind.STOCK: stock,
    Kind.MOTION: motion,
    Kind.VIEWING: viewing,
    Kind.LEGIBILITY: legibility,
    Kind.FLICKER: flicker,
}


def implied_by(
    section: AnySection, reader: ItemReader
) -> tuple[tuple[Implied, ...], ScoreFit | None]:
    """Return the speeds that an item implies, and how its pieces fit if it is music with lengths.

    It implies none where the reader has told what is wrong with it.
    """
    kind = Kind(section.kind)
    if kind in _MUSIC:
        music = _MUSIC[kind](section, reader)
        return music.implied, music.fit
    return _OTHERS[kind](section, reader), None
