"""What a sound file is, and how many samples it has: counted, never guessed."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import av
from msgspec import Struct

from retime.errors import ScanError
from retime.media.bridge import check_file, last_words, reading
from retime.media.countcache import FileState, state_of

if TYPE_CHECKING:
    from pathlib import Path

    from av.audio.stream import AudioStream
    from av.container import InputContainer

__all__ = ["SoundFacts", "only_sound", "open_sound", "probe_sound"]

# Demuxers that read one file and nothing else, as for movies.
_DEMUXERS = (
    "wav,w64,flac,aiff,mp3,ogg,mov,matroska,webm,ac3,eac3,aac,caf,au,mxf,avi,mpegts,mpeg,wv,tta"
)
_OPTIONS = {
    "protocol_whitelist": "file",
    "format_whitelist": _DEMUXERS,
    "max_size": str(1 << 16),  # bytes at once of a WAV's samples, which otherwise come by the 4096
}
# FFmpeg reads megabytes of a WAV's samples to tell whether they are DTS in disguise, which takes
# 0.1 s each time it is opened. This is a second of them.
_PROBED = {"probesize": str(200_000)}
_A_SOUND = "a recording is a sound file: WAV, FLAC, AIFF or the like, or a movie with sound"


# Where a file says how many channels it has and not which: common practice.
_USUAL = {1: "mono", 2: "stereo", 6: "5.1", 8: "7.1"}


class SoundFacts(Struct, frozen=True, kw_only=True):
    """``rate`` is samples a second, ``samples`` how many there are of each channel.

    ``layout`` is FFmpeg's name of the channels, such as ``stereo`` or ``5.1(side)``. ``state`` is
    what the file was like when it was looked at, None where nobody is to mind.
    """

    path: Path
    codec: str
    rate: int
    channels: int
    layout: str
    samples: int
    state: FileState | None = None


def open_sound(path: Path) -> InputContainer:
    """Open a sound file; the caller closes it. Raises ScanError for anything that is none."""
    check_file(path)
    try:
        options = _OPTIONS | _PROBED if _is_wave(path) else _OPTIONS
        return av.open(f"file:{path}", "r", options=options, metadata_errors="replace")
    except (av.FFmpegError, OSError, ValueError) as error:
        raise ScanError(
            path, "is no sound that can be read", _A_SOUND, last_words(error)
        ) from error


def _is_wave(path: Path) -> bool:
    """Tell whether a file is WAV, or what it is called with more than 4 GB (ITU-R BS.2088)."""
    with path.open("rb") as file:
        head = file.read(12)
    return head[:4] in {b"RIFF", b"RF64", b"BW64"} and head[8:] == b"WAVE"


def only_sound(container: InputContainer, path: Path) -> AudioStream:
    """Return the file's one stream of sound; raises ScanError where there is none, or several."""
    found = container.streams.audio
    if len(found) != 1:
        what = "holds no sound" if not found else f"holds {len(found)} streams of sound"
        raise ScanError(path, what, "a recording is one stream, of one channel or more")
    return found[0]


def _layout(name: str, channels: int) -> str:
    """Return the name of the channels; FFmpeg names those that a file leaves open by number."""
    return _USUAL.get(channels, name) if name.endswith("channels") else name


def probe_sound(path: Path) -> SoundFacts:
    """Look at a sound file, and count its samples by decoding it, once for each state of it.

    Raises ScanError for what is no sound, is empty, or cannot be decoded to its end.
    """
    check_file(path)
    with reading(path):
        state = state_of(path)
    return _probed(path, state)


@lru_cache(maxsize=64)
def _probed(path: Path, state: FileState) -> SoundFacts:
    with open_sound(path) as container, reading(path, "cannot be decoded to its end"):
        stream = only_sound(container, path)
        context = stream.codec_context
        samples = sum(frame.samples for frame in container.decode(stream))
        if not samples:
            raise ScanError(path, "holds no sound")
        return SoundFacts(
            path=path,
            codec=context.name,
            rate=context.sample_rate,
            channels=context.channels,
            layout=_layout(context.layout.name, context.channels),
            samples=samples,
            state=state,
        )
