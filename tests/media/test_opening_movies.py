"""Only one regular file with a movie in it is ever opened, and every refusal says why."""

from __future__ import annotations

import os
import pickle
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import av
import av.error
import av.logging
import pytest
from numbered import write_scan

from retime.errors import ScanError
from retime.media.bridge import (
    MAX_PIXELS,
    check_file,
    fraction_of,
    last_words,
    only_video,
    open_movie,
    prepare_decoder,
    quiet_log,
    reading,
)


def _refusal(path: Path) -> str:
    with pytest.raises(ScanError) as caught:
        open_movie(path)
    return str(caught.value).removeprefix(f"{path}: ")


def test_a_movie_opens_and_has_one_video_stream(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "reel.mkv", 2)

    with open_movie(path) as container:
        assert only_video(container, path).codec_context.name == "ffv1"


def test_a_name_with_a_colon_is_a_file_and_no_protocol(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_scan(tmp_path / "reel.mkv", 2).rename(tmp_path / "data:reel.mkv")
    monkeypatch.chdir(tmp_path)

    with open_movie(Path("data:reel.mkv")) as container:
        assert container.format.name == "matroska,webm"


def test_a_missing_file_is_told_with_the_nearest_name(tmp_path: Path) -> None:
    (tmp_path / "reel-1.mkv").touch()

    assert _refusal(tmp_path / "reel_1.mkv") == "is not there; the nearest name there is reel-1.mkv"
    assert _refusal(tmp_path / "no" / "x.mkv") == f"is not there; there is no folder {tmp_path}/no"


def test_a_folder_an_empty_file_and_a_pipe_are_no_movies(tmp_path: Path) -> None:
    (tmp_path / "empty.mkv").touch()
    os.mkfifo(tmp_path / "pipe.mkv")

    assert _refusal(tmp_path).startswith("is a folder;")
    assert _refusal(tmp_path / "empty.mkv") == "is empty"
    assert _refusal(tmp_path / "pipe.mkv").startswith("is no regular file;")


def test_a_file_that_may_not_be_read_is_told_before_ffmpeg_sees_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "reel.mkv"
    path.write_bytes(b"x")

    def refuse(*_: object) -> int:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "open", refuse)

    assert _refusal(path) == "may not be read (Permission denied)"


def test_a_name_that_no_file_can_have_is_told(tmp_path: Path) -> None:
    assert _refusal(tmp_path / "reel\0.mkv").startswith("is no name for a file")


def test_a_playlist_under_a_movie_name_opens_nothing(tmp_path: Path) -> None:
    """A text file may name other files; FFmpeg would follow it whatever its ending."""
    write_scan(tmp_path / "secret.mkv", 2)
    script = tmp_path / "reel.mkv"
    script.write_text("ffconcat version 1.0\nfile secret.mkv\n")
    av.open(str(script), options={"safe": "0"}).close()  # it is a playlist that works

    assert _refusal(script).startswith("is no movie that can be read")


def test_a_stream_playlist_opens_nothing(tmp_path: Path) -> None:
    write_scan(tmp_path / "part.ts", 20, "libx264", "yuv420p")
    playlist = tmp_path / "reel.mov"
    playlist.write_text("#EXTM3U\n#EXT-X-TARGETDURATION:2\n#EXTINF:2,\npart.ts\n#EXT-X-ENDLIST\n")

    assert _refusal(playlist).startswith("is no movie that can be read")


def test_an_error_carries_the_last_words_of_ffmpeg_in_one_line(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "reel.mov", 2, "prores_ks", "yuv422p10le")
    path.write_bytes(path.read_bytes()[:500])

    assert _refusal(path) == "is no movie that can be read (moov atom not found)"


def test_ffmpeg_prints_nothing(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    path = write_scan(tmp_path / "reel.mov", 2, "prores_ks", "yuv422p10le")
    path.write_bytes(path.read_bytes()[:500])
    _refusal(path)

    assert capfd.readouterr() == ("", "")


def test_a_movie_without_pictures_and_one_with_two_streams_are_refused(tmp_path: Path) -> None:
    sound, two = tmp_path / "sound.mkv", tmp_path / "two.mkv"
    with av.open(str(sound), "w") as container:
        stream = container.add_stream("pcm_s16le", rate=48000)
        frame = av.AudioFrame(format="s16", layout="mono", samples=480)
        frame.sample_rate = 48000
        container.mux(stream.encode(frame))
    source = write_scan(tmp_path / "reel.mkv", 2)
    with av.open(str(source)) as given, av.open(str(two), "w") as container:
        streams = [container.add_stream_from_template(given.streams.video[0]) for _ in range(2)]
        for packet in given.demux(video=0):
            if packet.size:
                for stream_of_two in streams:
                    packet.stream = stream_of_two
                    container.mux_one(packet)

    for path, words in ((sound, "holds no moving picture"), (two, "holds 2 video streams")):
        with open_movie(path) as container_read, pytest.raises(ScanError, match=words):
            only_video(container_read, path)


ERRORS = [one for one in vars(av.error).values() if isinstance(one, type)]
ERRORS = [one for one in ERRORS if issubclass(one, av.FFmpegError)]


@pytest.mark.parametrize("kind", ERRORS, ids=lambda kind: str(kind.__name__))
def test_every_error_of_pyav_becomes_ours_and_survives_pickling(tmp_path: Path, kind: Any) -> None:
    error = kind(1, "it broke", "x", (16, "demuxer", "last line\n"))

    with pytest.raises(ScanError) as caught, reading(tmp_path, "cannot be read"):
        raise error
    copied = pickle.loads(pickle.dumps(caught.value))  # noqa: S301 - what was just pickled
    assert str(copied) == f"{tmp_path}: cannot be read (last line)"


def test_last_words_are_the_log_line_then_the_systems_text_then_the_errors_own() -> None:
    kind: Any = av.FFmpegError  # PyAV's stub has another log than PyAV

    assert last_words(kind(5, "code text", None, (16, "x", " log line \n"))) == "log line"
    assert last_words(av.FFmpegError(5, "code text")) == "code text"
    assert last_words(OSError(13, "Permission denied")) == "Permission denied"
    assert last_words(ValueError("first\nsecond")) == "first"
    assert not last_words(ValueError())


def test_a_quiet_log_gives_the_last_error_line_since_it_began() -> None:
    av.logging.log(av.logging.ERROR, "before", "an old line")
    with quiet_log() as log:
        before = (log.moved(), log.last)
        av.logging.log(av.logging.ERROR, "inside", "a new line\n")
        av.logging.log(av.logging.WARNING, "inside", "no error\n")
        after = (log.moved(), log.last)

        assert (False, "") == before
        assert (True, "a new line") == after
        assert not log.moved()


def test_a_rational_is_exact_and_unset_is_none() -> None:
    """PyAV 18 gives Fraction or None; 19, by its changelog, a rational that is falsy when unset."""
    over_zero = SimpleNamespace(numerator=1, denominator=0)

    assert fraction_of(Fraction(1001, 24000)) == Fraction(1001, 24000)
    assert fraction_of(Fraction(0)) is None
    assert fraction_of(None) is None
    assert fraction_of(over_zero) is None


def test_a_picture_of_too_many_pixels_is_refused_by_its_size_alone() -> None:
    width = 20_000
    height = MAX_PIXELS // width + 1
    context = av.CodecContext.create("pgm", "r")
    prepare_decoder(context, 1)

    with pytest.raises(av.FFmpegError) as caught:
        context.decode(av.Packet(f"P5 {width} {height} 255\n".encode() + bytes(100)))
    assert f"exceeds specified max pixel count {MAX_PIXELS}" in last_words(caught.value)


def test_the_state_of_a_sound_file_is_returned(tmp_path: Path) -> None:
    path = write_scan(tmp_path / "reel.mkv", 2)

    assert path.stat().st_size == check_file(path).st_size
