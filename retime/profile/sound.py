"""How a profile's sound is coded, and which containers hold it.

What a container holds is what was tried: written, and read back by the ``ffmpeg`` program.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, Final

from msgspec import Struct
from pydantic import BeforeValidator, Field, WithJsonSchema

from retime.errors import NotationError
from retime.film.notation import shown
from retime.yamldoc.binding import Section

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

__all__ = ["SoundCodec", "SoundSection", "SoundSpec", "sound_faults", "sound_of"]


class SoundCodec(StrEnum):
    """How samples are coded."""

    PCM = "pcm"
    FLAC = "flac"
    AAC = "aac"
    AC3 = "ac3"


_BITS: Final[Mapping[SoundCodec, tuple[int, ...]]] = {
    SoundCodec.PCM: (16, 24, 32),
    SoundCodec.FLAC: (16, 24),
}
_MOST_BITS: Final = {"mxf": 24}  # of PCM: FFmpeg writes 16 and 24 there
_HOLDS: Final[Mapping[str, frozenset[SoundCodec]]] = {
    "mov": frozenset({SoundCodec.PCM, SoundCodec.AAC, SoundCodec.AC3}),
    "mkv": frozenset(SoundCodec),
    "mp4": frozenset({SoundCodec.AAC, SoundCodec.AC3, SoundCodec.FLAC}),
    "mxf": frozenset({SoundCodec.PCM}),
    "mpg": frozenset({SoundCodec.AC3}),
    "ts": frozenset({SoundCodec.AC3, SoundCodec.AAC}),
    "m2ts": frozenset({SoundCodec.AC3}),
}
_ENDINGS: Final = {
    SoundCodec.PCM: "wav",
    SoundCodec.FLAC: "flac",
    SoundCodec.AAC: "m4a",
    SoundCodec.AC3: "ac3",
}


class SoundSpec(Struct, frozen=True, kw_only=True):
    """``bits`` of a sample where the codec keeps samples, ``bit_rate`` where it does not.

    ``rate`` is samples a second.
    """

    codec: SoundCodec
    rate: int
    bits: int | None = None
    bit_rate: int | None = None

    def inside(self, container: str) -> bool:
        """Tell whether a container holds it; else it is written beside."""
        return self.codec in _HOLDS.get(container, ())

    @property
    def ending(self) -> str:
        """The ending of a file of its own."""
        return _ENDINGS[self.codec]


def _count(value: Any) -> Any:
    if not (isinstance(value, str) and value.isascii() and value.isdigit() and len(value) < 8):  # noqa: PLR2004
        raise NotationError(
            f"{shown(str(value))} is no count", "write a whole number such as 48000"
        )
    return int(value)


_Count = Annotated[int, BeforeValidator(_count), WithJsonSchema({"type": "integer", "minimum": 1})]


class SoundSection(Section):
    """The key ``sound`` of a profile."""

    codec: SoundCodec
    rate: _Count = Field(description="samples a second")
    bits: _Count | None = Field(default=None, description="of a sample: pcm and flac")
    bit_rate: _Count | None = Field(
        default=None, alias="bit-rate", description="bits a second: aac and ac3"
    )


def sound_of(section: SoundSection) -> SoundSpec:
    """Return the values of a section in which ``sound_faults`` finds nothing."""
    return SoundSpec(
        codec=section.codec, rate=section.rate, bits=section.bits, bit_rate=section.bit_rate
    )


def sound_faults(section: SoundSection, container: str) -> Iterator[tuple[str, str, str]]:
    """Yield what is wrong in a section: key, text, hint."""
    allowed = _BITS.get(section.codec)
    if allowed is None:
        if section.bits is not None:
            yield "bits", f"{section.codec} has no bits of a sample", "say bit-rate"
        if section.bit_rate is None:
            yield "codec", f"{section.codec} needs a bit rate", 'such as bit-rate: "192000"'
    else:
        if section.bit_rate is not None:
            yield "bit-rate", f"{section.codec} keeps every sample", "leave bit-rate out"
        most = _MOST_BITS.get(container, max(allowed))
        allowed = tuple(one for one in allowed if one <= most)
        if section.bits not in allowed:
            told = " or ".join(map(str, allowed))
            where = f" in {container}" if container in _MOST_BITS else ""
            text = f"{section.codec} has {told} bits of a sample{where}"
            yield "bits", text, f"say bits: {allowed[0]}"
    if container in _HOLDS and section.codec not in _HOLDS[container]:
        known = ", ".join(sorted(_HOLDS[container]))
        yield "codec", f"{container} holds no {section.codec} here", f"it holds {known}"
