"""What stands beside pictures in a file: none waits for it in memory, and it is let go of."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, cast

import av
import pytest

from retime.errors import ScanError
from retime.film.speed import Rate
from retime.media.movie_writer import MovieSettings, MovieWriter
from retime.media.subtitle_track import ShownText, SubtitleTrack

if TYPE_CHECKING:
    from collections.abc import Iterator

    from av.container import OutputContainer
    from av.packet import Packet
    from av.stream import Stream
    from av.video.stream import VideoStream

SIZE = 100_000  # bytes of a coded picture
FPS = 24
LATE = 3 * FPS  # pictures: FFmpeg itself would keep 10 seconds of them


@pytest.fixture
def template(tmp_path: Path) -> VideoStream:
    container = av.open(str(tmp_path / "template.mov"), "w")
    stream = container.add_stream("prores_ks", rate=FPS)
    stream.width, stream.height, stream.pix_fmt = 320, 240, "yuv422p10le"
    return stream


def settings_for(path: Path, container: str) -> MovieSettings:
    return MovieSettings(
        path=path,
        container=container,
        rate=Rate(Fraction(FPS)),
        sample_aspect=None,
        tag=None,
        raster=(320, 240),
    )


@pytest.mark.parametrize("container", ["mov", "mkv"])
def test_pictures_are_written_although_the_subtitles_are_at_their_end(
    container: str, template: VideoStream, tmp_path: Path
) -> None:
    path = tmp_path / f"made.{container}"
    texts = SubtitleTrack(container, [ShownText(Fraction(0), Fraction(1), "one")], None)
    writer = MovieWriter(settings_for(path, container), template, [texts])
    picture = cast("Packet[VideoStream]", av.Packet(bytes(SIZE)))
    picture.is_keyframe = True

    for number in range(1, 12 * FPS):
        writer.repeat(picture, 1)

        assert path.stat().st_size > (number - LATE) * SIZE
    writer.abandon()


class Failing:
    """A companion that has nothing to give."""

    def __init__(self) -> None:
        """Begin open."""
        self.closed = False

    def join(self, container: OutputContainer) -> None:
        """Have no stream."""

    def until(self, time: Fraction | None) -> Iterator[Packet[Stream]]:
        """Fail."""
        raise ScanError(Path("s.wav"), f"cannot be read at {time}")

    def close(self) -> None:
        """Tell that it was closed."""
        self.closed = True


def test_a_companion_that_fails_while_its_file_is_opened_is_closed(
    template: VideoStream, tmp_path: Path
) -> None:
    """A track of sound would go on coding for a file that is no more."""
    failing = Failing()

    with pytest.raises(ScanError, match="cannot be read at"):
        MovieWriter(settings_for(tmp_path / "made.mov", "mov"), template, [failing])

    assert failing.closed
