"""The one bridge to PyAV's quirks: files opened safely, errors and rationals made ours.

Importing this module keeps FFmpeg's log off the screen; its last error line goes into ours.
"""

from __future__ import annotations

import difflib
import errno
import os
import stat
from contextlib import contextmanager
from fractions import Fraction
from typing import TYPE_CHECKING, Protocol

import av
import av.logging
from av.video.codeccontext import VideoCodecContext

from retime.errors import ScanError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from av.container import InputContainer
    from av.video.stream import VideoStream

__all__ = [
    "MAX_PIXELS",
    "LogTail",
    "check_file",
    "fraction_of",
    "last_words",
    "only_video",
    "open_movie",
    "prepare_decoder",
    "quiet_log",
    "reading",
]

MAX_PIXELS = 200_000_000
"""The largest picture that is decoded, in pixels: beyond the largest film scanners (16K)."""

# Demuxers that read one file and nothing else. Playlists, scripts, image lists and devices are
# left out: a text file named .mkv could otherwise open other files.
_DEMUXERS = (
    "mov,matroska,webm,avi,mxf,mpegts,mpeg,mpegvideo,m4v,h264,hevc,vc1,dnxhd,ivf,obu,"
    "nut,dv,gxf,asf,flv,ogg,yuv4mpegpipe"
)
_OPTIONS = {
    "protocol_whitelist": "file",
    "format_whitelist": _DEMUXERS,
    "max_pixels": str(MAX_PIXELS),
}
_NOT_ON_LIST = "Format not on whitelist"  # as FFmpeg says it
_A_SCAN = "a scan is a movie file or numbered files"
_NEAR = 0.7  # as difflib measures likeness
_DECODER_OPTIONS = {"max_pixels": str(MAX_PIXELS), "err_detect": "crccheck"}

# At this level nothing is printed, but the text of errors still reaches FFmpegError.log. Lines
# come from decoder threads too, so a decoder must be flushed before it is let go: PyAV frees it
# holding the interpreter's lock, which a thread that still has a line to log would wait for.
av.logging.set_level(av.logging.PANIC)


class _Rational(Protocol):
    @property
    def numerator(self) -> int: ...

    @property
    def denominator(self) -> int: ...


def fraction_of(rational: _Rational | None) -> Fraction | None:
    """Return FFmpeg's rational exactly; None where it is unset, zero or over zero."""
    if not rational or not rational.denominator:  # truth first: unset is None or a falsy 0/1
        return None
    return Fraction(rational.numerator, rational.denominator)


class LogTail:
    """FFmpeg's error lines since a moment, from whatever thread."""

    def __init__(self) -> None:
        """Start now."""
        self._start = self._seen = av.logging.get_last_error()[0]

    @property
    def last(self) -> str:
        """The newest line, empty where there was none since the start."""
        count, line = av.logging.get_last_error()
        return line[2].strip() if line and count > self._start else ""

    def moved(self) -> bool:
        """Tell whether a line came since the start or the last call."""
        count, before = av.logging.get_last_error()[0], self._seen
        self._seen = count
        return count > before


@contextmanager
def quiet_log() -> Iterator[LogTail]:
    """Give what FFmpeg logs as errors inside the block; nothing of it is printed."""
    yield LogTail()


def last_words(error: BaseException) -> str:
    """Return the last line that FFmpeg logged before an error, or its own text; no newline."""
    log = getattr(error, "log", None)
    if log:
        return str(log[2]).strip()
    if isinstance(error, OSError | av.FFmpegError) and error.strerror:
        return str(error.strerror)
    return str(error).splitlines()[0] if str(error) else ""


@contextmanager
def reading(path: Path, text: str = "cannot be read", hint: str = "") -> Iterator[None]:
    """Turn errors of the system, of FFmpeg and of PyAV into ScanError about ``path``."""
    try:
        yield
    except (av.FFmpegError, OSError, ValueError, OverflowError) as error:
        raise ScanError(path, text, hint, last_words(error)) from error


def check_file(path: Path) -> os.stat_result:
    """Return what the system says of a regular, readable file that is not empty.

    Raises ScanError for anything else, a missing file with the nearest name beside it.
    """
    try:
        status = path.stat()
    except FileNotFoundError:
        raise ScanError(path, "is not there", _nearest(path)) from None
    except OSError as error:
        raise ScanError(path, "cannot be looked at", detail=last_words(error)) from error
    except ValueError as error:  # a NUL in the name
        raise ScanError(path, "is no name for a file", detail=str(error)) from error
    if stat.S_ISDIR(status.st_mode):
        raise ScanError(path, "is a folder", "numbered files are named by a pattern, %06d.dpx")
    if not stat.S_ISREG(status.st_mode):
        raise ScanError(path, "is no regular file", _A_SCAN)
    if status.st_size == 0:
        raise ScanError(path, "is empty")
    try:
        os.close(os.open(path, os.O_RDONLY))
    except OSError as error:
        raise ScanError(path, "may not be read", detail=last_words(error)) from error
    return status


def _nearest(path: Path) -> str:
    """Say which name in the folder is nearest to one that is not there."""
    try:
        names = [other.name for other in path.parent.iterdir()]
    except OSError as error:
        gone = error.errno in {errno.ENOENT, errno.ENOTDIR}
        return f"there is no folder {path.parent}" if gone else ""
    near = difflib.get_close_matches(path.name, names, n=1, cutoff=_NEAR)
    return f"the nearest name there is {near[0]}" if near else ""


def open_movie(path: Path) -> InputContainer:
    """Open a movie file and read its headers; the caller closes it.

    Raises ScanError for anything that is not one regular file with a movie in it.
    """
    check_file(path)
    try:
        with reading(path, "is no movie that can be read"):
            # The file: prefix keeps a colon in a name from being taken for another protocol.
            return av.open(f"file:{path}", "r", options=_OPTIONS, metadata_errors="replace")
    except ScanError as error:
        if error.detail.startswith(_NOT_ON_LIST):
            raise ScanError(
                path, "is no movie that can be read, whatever its name", _A_SCAN
            ) from error
        raise


def only_video(container: InputContainer, path: Path) -> VideoStream:
    """Return the movie's one video stream that has a decoder; cover pictures do not count."""
    found = [
        stream
        for stream in container.streams.video
        if not stream.disposition & stream.disposition.attached_pic
    ]
    if not found:
        raise ScanError(path, "holds no moving picture")
    if len(found) > 1:
        raise ScanError(path, f"holds {len(found)} video streams", "a scan holds one")
    if not isinstance(found[0].codec_context, VideoCodecContext):
        raise ScanError(path, "is coded in a way that FFmpeg here cannot decode")
    return found[0]


def prepare_decoder(context: VideoCodecContext, threads: int) -> None:
    """Bound a decoder before it is opened; ``threads`` is 0 for as many as there are cores."""
    context.options = dict(_DECODER_OPTIONS)
    context.thread_type = "AUTO"
    context.thread_count = threads
