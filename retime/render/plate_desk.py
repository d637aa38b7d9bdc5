"""Where plates are looked up: stills mounted once, movies read along."""

from __future__ import annotations

from contextlib import closing
from typing import TYPE_CHECKING

from retime.errors import ScanError
from retime.media.reader import read_frames
from retime.media.still import read_still
from retime.picture.convert import Converter
from retime.picture.plate_maker import PlateMaker

if TYPE_CHECKING:
    from collections.abc import Generator, Mapping

    from av.video.frame import VideoFrame

    from retime.edition.plates import PlateSource
    from retime.light.format import PictureFormat
    from retime.render.recipe import Mounted

__all__ = ["PlateDesk"]


class PlateDesk:
    """The plates of deliverables of one format; pictures that were made last are kept."""

    def __init__(self, sources: Mapping[str, PlateSource], picture: PictureFormat) -> None:
        """Take the files by their addresses; none is opened yet."""
        self._sources = sources
        self._picture = picture
        self._still: tuple[Mounted, VideoFrame] | None = None
        self._movies: dict[str, _Movie] = {}

    def picture(self, mounted: Mounted) -> VideoFrame:
        """Return a plate in the deliverables' format.

        Raises ScanError for a file that cannot be read any more, or is not what it was.
        """
        plate = mounted.plate
        source = self._sources[plate.address]
        if plate.frame is not None:
            if plate.address not in self._movies:
                self._movies[plate.address] = _Movie(source, self._picture)
            return self._movies[plate.address].at(plate.frame)
        if self._still is None or self._still[0] != mounted:
            maker = PlateMaker(self._picture, mounted.area)
            made = maker.make(read_still(source.path), source.picture)
            self._still = mounted, made
        return self._still[1]

    def close(self) -> None:
        """Let go of the movies."""
        for movie in self._movies.values():
            movie.close()


class _Movie:
    """A movie that is read from its first frame on, and anew where an earlier one is asked for."""

    def __init__(self, source: PlateSource, picture: PictureFormat) -> None:
        self._source = source
        self._converter = Converter(source.picture, picture)
        self._coming: Generator[VideoFrame | None] | None = None
        self._at = -1
        self._frame: VideoFrame | None = None

    def at(self, number: int) -> VideoFrame:
        if self._coming is None or number < self._at:
            self._open(number)
        while self._at < number and self._coming is not None:
            frame = next(self._coming, None)
            if frame is None:
                raise ScanError(self._source.path, f"frame {number} is missing")
            self._at += 1
            self._frame = self._converter.convert(frame) if self._at == number else None
        if self._frame is None:
            raise ScanError(self._source.path, f"frame {number} is missing")
        return self._frame

    def _open(self, first: int) -> None:
        self.close()
        facts, frames = self._source.facts, self._source.frames
        if facts is None:
            raise TypeError(f"{self._source.path} is no movie")
        self._coming = read_frames(facts, first, frames - 1, threads=1, count=frames)
        self._at = first - 1

    def close(self) -> None:
        if self._coming is not None:
            with closing(self._coming):
                self._coming = None
