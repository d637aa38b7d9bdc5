"""What is known of pictures from files of their own, and of movies beside the film."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import DocumentError, ScanError
from retime.findings import Finding
from retime.media.count import frame_count
from retime.media.countcache import users_cache
from retime.media.facts import Form
from retime.media.probe import probe
from retime.media.sequence import list_sequence
from retime.media.still import probe_still

if TYPE_CHECKING:
    from collections.abc import Callable
    from fractions import Fraction
    from pathlib import Path

    from retime.findings import Place
    from retime.light.format import PictureFormat
    from retime.media.facts import ScanFacts

__all__ = ["PlateSource", "PlateSources", "movie_source", "still_source"]


class PlateSource(Struct, frozen=True, kw_only=True):
    """A file that plates come from: a still where ``facts`` is None, else a movie."""

    path: Path
    picture: PictureFormat
    frames: int = 1
    facts: ScanFacts | None = None

    @property
    def rate(self) -> Fraction | None:
        """The rate that a movie's header states, None where it states none."""
        return None if self.facts is None else self.facts.header_rate


def still_source(path: Path) -> PlateSource:
    """Look at a still; raises ScanError for what is no picture."""
    facts = probe_still(path)
    return PlateSource(path=path, picture=facts.picture)


def movie_source(path: Path) -> PlateSource:
    """Look at a movie, or numbered files; raises ScanError for what is none."""
    facts = probe(path)
    if facts.form is Form.SEQUENCE:
        _check_whole(path)
    frames = frame_count(facts, cache=users_cache())
    return PlateSource(path=path, picture=facts.picture, frames=frames, facts=facts)


def _check_whole(path: Path) -> None:
    holes = list_sequence(path).holes
    if holes:
        raise ScanError(path, f"files are missing, the first at position {holes[0].first}")


class PlateSources:
    """The files that a map's plates come from, each looked at once."""

    def __init__(self, folder: Path) -> None:
        """Take the folder that addresses are relative to."""
        self.known: dict[str, PlateSource] = {}
        self._folder = folder

    def still(self, address: str, place: Place) -> PlateSource:
        """Return a still; raises DocumentError at ``place`` for what is no picture."""
        return self._found(address, place, still_source)

    def movie(self, address: str, place: Place) -> PlateSource:
        """Return a movie; raises DocumentError at ``place`` for what is none."""
        return self._found(address, place, movie_source)

    def _found(
        self, address: str, place: Place, look: Callable[[Path], PlateSource]
    ) -> PlateSource:
        if address not in self.known:
            try:
                self.known[address] = look(self._folder / address)
            except ScanError as error:
                detail = f" ({error.detail})" if error.detail else ""
                text = f"{error.path}: {error.text}{detail}"
                found = Finding(place=place, rule="plate", text=text, hint=error.hint)
                raise DocumentError([found]) from error
        return self.known[address]
