"""Pictures do not wait in memory for other streams of their file."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, cast

import av
import pytest

from retime.film.speed import Rate
from retime.media.movie_writer import MovieSettings, MovieWriter
from retime.media.subtitle_track import ShownText, SubtitleTrack

if TYPE_CHECKING:
    from pathlib import Path

    from av.packet import Packet
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


@pytest.mark.parametrize("container", ["mov", "mkv"])
def test_pictures_are_written_although_the_subtitles_are_at_their_end(
    container: str, template: VideoStream, tmp_path: Path
) -> None:
    path = tmp_path / f"made.{container}"
    settings = MovieSettings(
        path=path,
        container=container,
        rate=Rate(Fraction(FPS)),
        sample_aspect=None,
        tag=None,
        raster=(320, 240),
    )
    texts = SubtitleTrack(container, [ShownText(Fraction(0), Fraction(1), "one")], None)
    writer = MovieWriter(settings, template, [texts])
    picture = cast("Packet[VideoStream]", av.Packet(bytes(SIZE)))
    picture.is_keyframe = True

    for number in range(1, 12 * FPS):
        writer.repeat(picture, 1)

        assert path.stat().st_size > (number - LATE) * SIZE
    writer.abandon()
