"""What a rule is given: the map, what is known of its scans, and the questions all rules ask."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.findings import Finding, Severity
from retime.yamldoc.quoting import suggestion

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from retime.findings import Place
    from retime.speedmap.model import Reel, Shot, ShotKey, SpeedMap

__all__ = ["Case", "error", "warning"]

_MOST_SUGGESTIONS = 50


class Case:
    """One map on which the rules are tried.

    ``counts`` are the frames that scans are known to hold, by reel name.
    """

    def __init__(self, speed_map: SpeedMap, counts: Mapping[str, int]) -> None:
        """Look the map's names up once for all rules."""
        self.map = speed_map
        self.counts = counts
        self.reels: dict[str, Reel] = {}
        for reel in speed_map.reels:
            self.reels.setdefault(reel.name, reel)
        self.shots: dict[str, list[Shot]] = {name: [] for name in self.reels}
        self.positions: dict[ShotKey, int] = {}
        for position, shot in enumerate(speed_map.shots):
            self.positions.setdefault(shot.key, position)
            self.shots.setdefault(shot.reel, []).append(shot)
        self._suggestions = _MOST_SUGGESTIONS

    def stop(self, reel: Reel) -> int | None:
        """Return the frame after the reel's last of picture, or None while that is unknown."""
        return reel.stop(self.counts.get(reel.name))

    def suggestion(self, word: str, known: Collection[str]) -> str:
        """Return a hint for an unknown name; the search is dear, so only 50 are made."""
        self._suggestions -= 1
        return suggestion(word, known) if self._suggestions >= 0 else ""


def error(rule: str, place: Place, text: str, hint: str = "") -> Finding:
    """Return what makes a map unusable."""
    return Finding(place=place, rule=rule, text=text, hint=hint)


def warning(rule: str, place: Place, text: str, hint: str = "") -> Finding:
    """Return what a person should look at."""
    return Finding(place=place, rule=rule, text=text, hint=hint, severity=Severity.WARNING)
