"""How a version's rules name shots: ``1/14``, or a run ``2/3-2/7``.

A hyphen may also stand in a name (``1/14-A``), so of several ways to divide a run the one whose
two ends are shots of the map is taken.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import NotationError
from retime.speedmap.model import ShotKey
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Collection

__all__ = ["shot_keys"]

_HINT = "write reel/shot, such as 1/14, or a run, such as 2/3-2/7"
_SLASHES_OF_A_RUN = 2


def shot_keys(text: str, known: Collection[ShotKey]) -> tuple[ShotKey, ShotKey]:
    """Return the first and the last shot that ``text`` names, the same for a single shot.

    Raises:
        NotationError: it names none, or could be divided in two ways.
    """
    if text.count("/") == 1:
        key = _key(text, text)
        return key, key
    if text.count("/") != _SLASHES_OF_A_RUN:
        raise NotationError(f"{quoted(text)} names no shot", _HINT)
    start, stop = text.index("/"), text.rindex("/")
    ways = [
        (_key(text[:at], text), _key(text[at + 1 :], text))
        for at in range(start, stop)
        if text[at] == "-"
    ]
    if not ways:
        raise NotationError(f"{quoted(text)} names no shot", _HINT)
    sure = [way for way in ways if way[0] in known and way[1] in known]
    if len(sure) > 1:
        what = f"{quoted(text)} could be divided in {len(sure)} ways"
        raise NotationError(what, "rename one of the shots")
    return sure[0] if sure else ways[0]


def _key(part: str, text: str) -> ShotKey:
    reel, _, shot = (piece.strip() for piece in part.partition("/"))
    if not reel or not shot:
        raise NotationError(f"{quoted(text)} names no shot", _HINT)
    return ShotKey(reel, shot)
