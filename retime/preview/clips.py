"""Delivered excerpts, really rendered: small H.264 movies at a deliverable's rate."""

from __future__ import annotations

from typing import TYPE_CHECKING

from av.video.frame import VideoFrame

from retime.errors import Interrupted
from retime.media.encoder import EncoderSettings, PictureEncoder
from retime.media.movie_writer import MovieSettings, MovieWriter
from retime.picture.mix import Mixer

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path
    from threading import Event

    from retime.film.speed import Rate
    from retime.light.format import PictureFormat
    from retime.light.transfer import Transfer
    from retime.preview.pictures import Coded
    from retime.preview.showing import Mix, Run

__all__ = ["ClipMaker", "clip_options"]

_ENCODER = "libx264"
_THREADS = 1  # several are made at once, and the same come out on every machine
_KEYS_A_SECOND = 2


def clip_options(rate: Rate) -> tuple[tuple[str, str], ...]:
    """Return the encoder's options: quick, fine enough to judge motion by, and easily sought in.

    No picture leans on a later one, and half a second at most has to be decoded to come to any.
    """
    group = max(1, round(rate.fps / _KEYS_A_SECOND))
    return (("preset", "ultrafast"), ("crf", "20"), ("bf", "0"), ("g", str(group)))


class ClipMaker:
    """Makes movies of pictures of one format; one maker serves several threads."""

    def __init__(self, picture: PictureFormat, transfer: Transfer, stopped: Event) -> None:
        """Take the format, the curve that pictures are mixed by, and what tells to stop."""
        self._picture, self._transfer, self._stopped = picture, transfer, stopped

    def make(self, path: Path, pictures: Sequence[Coded], runs: Sequence[Run], rate: Rate) -> int:
        """Write a movie of what ``runs`` show of an excerpt's pictures; return its size in bytes.

        Raises OutputError, and Interrupted where it was told to stop; then the file is not whole.
        """
        settings = EncoderSettings(
            encoder=_ENCODER,
            options=clip_options(rate),
            tag=None,
            threads=_THREADS,
            picture=self._picture,
            rate=rate,
        )
        encoder = PictureEncoder(settings, path)
        try:
            writer = MovieWriter(self._settings(path, rate), encoder.template)
            try:
                for frame, times in self._composed(pictures, runs):
                    for _ in range(times):
                        for packet in encoder.encode(frame):
                            writer.write(packet)
                for packet in encoder.finish():
                    writer.write(packet)
                writer.finish()
            except BaseException:
                writer.abandon()
                raise
        finally:
            encoder.close()
        return path.stat().st_size

    def _composed(
        self, pictures: Sequence[Coded], runs: Sequence[Run]
    ) -> Iterator[tuple[VideoFrame, int]]:
        """Yield pictures, and how many output frames in a row show each."""
        mixer: Mixer | None = None
        for times, mix in runs:
            if self._stopped.is_set():
                raise Interrupted("stopped")
            if len(mix) > 1 and mixer is None:
                mixer = Mixer(self._picture, self._transfer)
            yield self._frame(pictures, mix, mixer), times

    def _frame(self, pictures: Sequence[Coded], mix: Mix, mixer: Mixer | None) -> VideoFrame:
        """Return a picture of its own, as encoders write into what they are given."""
        parts = [
            (VideoFrame.from_ndarray(pictures[frame], format="yuv420p"), weight)
            for frame, weight in mix
        ]
        return parts[0][0] if mixer is None or len(parts) == 1 else mixer.mix(parts)

    def _settings(self, path: Path, rate: Rate) -> MovieSettings:
        return MovieSettings(
            path=path,
            container="mp4",
            rate=rate,
            sample_aspect=self._picture.sample_aspect,
            tag=None,
            raster=(self._picture.width, self._picture.height),
        )
