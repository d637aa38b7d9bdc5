"""What the second reader finds a file to be: its container, and every stream of it."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import ScanError
from retime.second.colours import Colours
from retime.second.frames import CodedHeader, coded_header, first_frames
from retime.second.metadata import ChapterFacts, read_metadata
from retime.second.numbered import NumberedFacts, dpx_rate, numbered_facts, values_beside
from retime.second.pacing import Pacing, pacing_of
from retime.second.packets import listed
from retime.second.program import Running
from retime.second.words import read_words

if TYPE_CHECKING:
    from pathlib import Path

    from retime.second.packets import Listed
    from retime.second.words import SaidStream, Words

__all__ = [
    "ChapterFacts",
    "Colours",
    "FileFacts",
    "NumberedFacts",
    "SoundStream",
    "SubtitleStream",
    "VideoFacts",
    "file_facts",
]

_LOOKED_AT = 3
_EMPTY = {"mov_text": 2}  # 3GPP TS 26.245: a text of no length is its length
_STILL = ("-f", "image2", "-pattern_type", "none")


class VideoFacts(Struct, frozen=True, kw_only=True):
    """The pictures of a file.

    ``tag`` is the FourCC. ``sample_aspect`` is the container's and ``coded_aspect`` that of the
    coded pictures, None where they say nothing. ``order`` is how the stream says that it is
    scanned, ``frame_orders`` what the first pictures say, ``coded_order`` which field MPEG-2's
    headers show first: ``progressive``, ``top-first`` or ``bottom-first``, None for nothing.
    ``colours`` are the stream's, ``frame_colours`` the first picture's.

    ``packets`` are coded pictures, ``shown`` the frames that they are shown for, more where flags
    repeat fields. ``rate`` is that of the time stamps, in frames a second, None where they follow
    none or there are none; ``uneven`` is the first packet that is out of step. ``coded_rate`` is
    what the coded pictures' headers say. ``start`` is when the first is shown and ``lasts`` for
    how long all are, in seconds, both right to ``tick``; None where nothing says so.
    """

    codec: str
    profile: str
    tag: str
    pixel_format: str
    width: int
    height: int
    sample_aspect: Fraction | None
    coded_aspect: Fraction | None
    order: str | None
    frame_orders: tuple[str | None, ...]
    coded_order: str | None
    colours: Colours
    frame_colours: Colours
    packets: int
    shown: Fraction
    rate: Fraction | None
    coded_rate: Fraction | None
    uneven: int | None
    tick: Fraction | None
    start: Fraction | None
    lasts: Fraction | None

    @property
    def display_aspect(self) -> Fraction:
        """Width over height of the picture as it is shown."""
        return Fraction(self.width, self.height) * (self.sample_aspect or self.coded_aspect or 1)


class SoundStream(Struct, frozen=True, kw_only=True):
    """A stream of sound; ``samples`` of each channel are counted, decoded.

    ``start`` is when the first is heard, in seconds of the file's clock.
    """

    codec: str
    rate: int
    channels: int
    samples: int
    start: Fraction
    language: str


class SubtitleStream(Struct, frozen=True, kw_only=True):
    """A stream of subtitles; ``cues`` are when each begins and ends, in seconds."""

    codec: str
    language: str
    cues: tuple[tuple[Fraction, Fraction], ...]
    tick: Fraction


class FileFacts(Struct, frozen=True, kw_only=True):
    """A file, or a folder of numbered ones, whose ``video`` is that of its first file.

    ``container`` are the program's names for its kind. ``values`` are what it says of itself, by
    keys in small letters; ``timecode`` is the label of its first picture.
    """

    path: Path
    container: str
    video: VideoFacts | None
    sounds: tuple[SoundStream, ...]
    subtitles: tuple[SubtitleStream, ...]
    chapters: tuple[ChapterFacts, ...]
    values: dict[str, str]
    timecode: str | None
    numbered: NumberedFacts | None = None


def file_facts(path: Path) -> FileFacts:
    """Look at a file, or at a folder of numbered files, and read all of it once.

    Raises ScanError for what the program cannot open, or cannot read to its end.
    """
    return _folder_facts(path) if path.is_dir() else _movie_facts(path)


def _movie_facts(path: Path) -> FileFacts:
    words, values, chapters = _opened(path)
    pictures, sounds, texts = (words.of_kind(kind) for kind in ("Video", "Audio", "Subtitle"))
    packets = list(listed(path))
    video = _video_facts(path, pictures[0], packets.pop(0)) if pictures else None
    return FileFacts(
        path=path,
        container=words.container,
        video=video and video[0],
        sounds=tuple(_sound(*one) for one in zip(sounds, packets, strict=False)),
        subtitles=tuple(
            _subtitles(*one) for one in zip(texts, packets[len(sounds) :], strict=False)
        ),
        chapters=chapters,
        values=values,
        timecode=_timecode(values, pictures, video and video[1]),
    )


def _folder_facts(path: Path) -> FileFacts:
    numbered = numbered_facts(path)
    first = path / numbered.name(numbered.first_number)
    words, _, _ = _opened(first, _STILL)
    pictures = words.of_kind("Video")
    if not pictures:
        raise ScanError(first, "is no picture")
    video, label = _video_facts(first, pictures[0], None)
    return FileFacts(
        path=path,
        container=words.container,
        video=video,
        sounds=(),
        subtitles=(),
        chapters=(),
        values=values_beside(path),
        timecode=label,
        numbered=numbered,
    )


def _opened(
    path: Path, before: tuple[str, ...] = ()
) -> tuple[Words, dict[str, str], tuple[ChapterFacts, ...]]:
    """Return what the program says when it opens a file, and the values and chapters in it."""
    arguments = ["-protocol_whitelist", "file", *before, "-i", str(path.absolute())]
    with Running([*arguments, "-f", "ffmetadata", "pipe:1"], level="info") as running:
        told = running.out.read().decode("utf-8", "replace")
        running.done()
        said = running.words()
    words = read_words(said)
    if words is None:
        lines = [line.strip() for line in said.splitlines() if line.strip()]
        detail = lines[-1] if lines else ""
        raise ScanError(path, "is nothing that the ffmpeg program opens", detail=detail)
    return words, *read_metadata(told)


def _video_facts(
    path: Path, said: SaidStream, packets: Listed | None
) -> tuple[VideoFacts, str | None]:
    """Return the facts of pictures, and the label that stands with the first; a still has none."""
    seen = first_frames(path, _LOOKED_AT, () if packets is not None else _STILL)
    coded = coded_header(path, said.codec) if packets is not None else CodedHeader()
    if packets is None:
        pacing = Pacing(rate=dpx_rate(path), shown=Fraction(1))
    else:
        fields = said.codec == "mpeg2video"
        pacing = pacing_of(packets, seen.rate, coded.rate, by_fields=fields)
    facts = VideoFacts(
        codec=said.codec,
        profile=said.profile,
        tag=said.tag,
        pixel_format=said.pixel_format,
        width=said.width,
        height=said.height,
        sample_aspect=said.sample_aspect,
        coded_aspect=said.coded_aspect,
        order=said.order,
        frame_orders=seen.orders,
        coded_order=coded.order,
        colours=said.colours,
        frame_colours=seen.colours,
        packets=len(packets) if packets is not None else 1,
        shown=pacing.shown,
        rate=pacing.rate,
        coded_rate=coded.rate,
        uneven=pacing.uneven,
        tick=packets.tick if packets is not None else None,
        start=packets.start if packets is not None else None,
        lasts=_lasts(packets, pacing) if packets is not None else None,
    )
    return facts, seen.timecode


def _lasts(packets: Listed, pacing: Pacing) -> Fraction | None:
    """Return for how long pictures are shown, up to the end of the last."""
    if packets.timed and len(packets):
        last = int(packets.times.argmax())
        end = int(packets.times[last] + packets.durations[last])
        return (end - int(packets.times.min())) * packets.tick
    return pacing.shown / pacing.rate if pacing.rate else None


def _sound(said: SaidStream, packets: Listed) -> SoundStream:
    return SoundStream(
        codec=said.codec,
        rate=said.sample_rate,
        channels=packets.channels,
        samples=int(packets.durations.sum()),
        start=packets.start or Fraction(0),
        language=said.language,
    )


def _subtitles(said: SaidStream, packets: Listed) -> SubtitleStream:
    shown = packets.sizes > _EMPTY.get(said.codec, 0)
    cues = zip(packets.times[shown].tolist(), packets.durations[shown].tolist(), strict=True)
    return SubtitleStream(
        codec=said.codec,
        language=said.language,
        cues=tuple((at * packets.tick, (at + lasts) * packets.tick) for at, lasts in cues),
        tick=packets.tick,
    )


def _timecode(
    values: dict[str, str], pictures: tuple[SaidStream, ...], first: str | None
) -> str | None:
    """Return the first label: the container's, the stream's, or what stands with the picture."""
    of_stream = pictures[0].values.get("timecode") if pictures else None
    return values.get("timecode") or of_stream or first
