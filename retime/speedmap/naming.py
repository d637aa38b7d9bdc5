"""Shots named on a command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import CommandError
from retime.speedmap.shotkeys import shot_keys
from retime.yamldoc.quoting import quoted, suggestion

if TYPE_CHECKING:
    from retime.speedmap.model import ShotKey, SpeedMap

__all__ = ["Named", "named_shots"]


class Named(Struct, frozen=True, kw_only=True):
    """Shots that a command line names: their text and their places in the map's list."""

    first: ShotKey
    last: ShotKey
    places: range

    @property
    def is_run(self) -> bool:
        """Say whether they are several."""
        return len(self.places) > 1

    def __str__(self) -> str:
        """Return them as a map writes them."""
        return f"{self.first}-{self.last}" if self.is_run else str(self.first)


def named_shots(speed_map: SpeedMap, text: str) -> Named:
    """Return the shots that ``text`` names, ``2/3`` or ``2/3-2/7``.

    Raises:
        NotationError: it names none.
        CommandError: they are not in the map, or run backwards.
    """
    places = {shot.key: place for place, shot in enumerate(speed_map.shots)}
    first, last = shot_keys(text, places)
    for key in (first, last):
        if key not in places:
            hint = suggestion(str(key), [str(one) for one in places])
            raise CommandError(f"the map has no shot {quoted(str(key))}", hint)
    if places[first] > places[last]:
        raise CommandError(f"the run {text} runs backwards", f"write {last}-{first}")
    return Named(first=first, last=last, places=range(places[first], places[last] + 1))
