"""What an FFV1 file's configuration record says: RFC 9043, sections 4.2 and 4.3.

FFV1 is not intra-only by name: pictures may carry contexts on from one to the next, and only the
record's ``intra`` field promises that they do not.
"""

from __future__ import annotations

from fastcrc.crc32 import mpeg_2
from msgspec import Struct

from retime.media.rangecoder import CONTEXT_SIZE, RangeDecoder

__all__ = ["Ffv1Config", "crc_remainder", "parse_config"]

_VERSION = 3  # the one version that has a record in RFC 9043
_CRC_BYTES = 4
_CUSTOM_STATES = 2  # coder types from this on carry a state transition table
_CONTEXT_INPUTS = 5
_HALF_TABLE = 128
_MOST_TABLES = 8  # as many as FFmpeg takes
_MOST_CONTEXTS = 32_768  # as many as FFmpeg takes
_MOST_STATES = 10_000  # contexts whose states are stated: FFmpeg writes 8,229 at most
_LONGEST_DELTA = 8  # bits: states are bytes


class Ffv1Config(Struct, frozen=True, kw_only=True):
    """A version 3 record's fields that matter outside the decoder, under RFC 9043's names.

    ``coder_type``: 0 Golomb-Rice, 1 range coder, 2 range coder with its own states.
    ``colorspace_type``: 0 YCbCr, 1 RGB. ``error_check`` (``ec``): 0 for a checksum over the
    record alone, else one over each slice as well. ``intra``: every picture stands alone.
    """

    version: int
    micro_version: int
    coder_type: int
    colorspace_type: int
    bits_per_raw_sample: int
    horizontal_slices: int
    vertical_slices: int
    error_check: int
    intra: bool


def parse_config(record: bytes) -> Ffv1Config:
    """Read a configuration record, which is a stream's extradata.

    Raises ValueError, as a clause, where there is none (versions 0 and 1 have none), where its
    checksum is wrong, or where it is of a version that RFC 9043 does not describe.
    """
    if len(record) <= _CRC_BYTES:
        raise ValueError("there is no FFV1 configuration record")
    if crc_remainder(record):
        raise ValueError("the FFV1 configuration record is damaged")
    decoder = RangeDecoder(record[:-_CRC_BYTES])
    config = _parameters(decoder)
    if decoder.overrun:
        raise ValueError("the FFV1 configuration record ends early")
    return config


def crc_remainder(data: bytes | memoryview) -> int:
    """Return the remainder by 0x104C11DB7, start 0, most significant bit first; 0 is sound."""
    return mpeg_2(data, 0)  # MPEG-2's CRC has the polynomial and the order; its start is another


def _parameters(decoder: RangeDecoder) -> Ffv1Config:
    """Read Parameters() in the order of section 4.2."""
    states = decoder.fresh_states()
    version = decoder.number(states)
    if version != _VERSION:
        raise ValueError(f"FFV1 version {version} is not understood, only version {_VERSION}")
    micro_version = decoder.number(states)
    coder_type = decoder.number(states)
    if coder_type >= _CUSTOM_STATES:
        for _ in range(1, 256):
            decoder.number(states, signed=True)
    colorspace_type = decoder.number(states)
    bits = decoder.number(states)
    decoder.bit(states)  # chroma_planes
    decoder.number(states)  # log2_h_chroma_subsample
    decoder.number(states)  # log2_v_chroma_subsample
    decoder.bit(states)  # extra_plane
    horizontal = decoder.number(states) + 1
    vertical = decoder.number(states) + 1
    tables = decoder.number(states)
    if not 0 < tables <= _MOST_TABLES:
        raise ValueError("the FFV1 configuration record makes no sense")
    contexts = [_table_set(decoder) for _ in range(tables)]
    stated = 0
    for count in contexts:
        if decoder.bit(states):
            stated += count
            if stated > _MOST_STATES or decoder.overrun:
                raise ValueError("the FFV1 configuration record makes no sense")
            _initial_states(decoder, count)
    return Ffv1Config(
        version=version,
        micro_version=micro_version,
        coder_type=coder_type,
        colorspace_type=colorspace_type,
        bits_per_raw_sample=bits or 8,  # section 4.2.7: 0 is to be read as 8
        horizontal_slices=horizontal,
        vertical_slices=vertical,
        error_check=decoder.number(states),
        intra=decoder.number(states) == 1,
    )


def _table_set(decoder: RangeDecoder) -> int:
    """Read past a QuantizationTableSet and return its context count: section 4.9."""
    scale = 1
    for _ in range(_CONTEXT_INPUTS):
        states = decoder.fresh_states()
        entries = runs = 0
        while entries < _HALF_TABLE:
            entries += decoder.number(states) + 1
            runs += 1
        scale *= 2 * runs - 1
    count = (scale + 1) // 2
    if entries > _HALF_TABLE or count > _MOST_CONTEXTS:
        raise ValueError("the FFV1 configuration record makes no sense")
    return count


def _initial_states(decoder: RangeDecoder, contexts: int) -> None:
    """Read past one set's initial_state_delta: each place in a context has states of its own."""
    places = [decoder.fresh_states() for _ in range(CONTEXT_SIZE)]
    for _ in range(contexts):
        for states in places:
            decoder.number(states, signed=True, longest=_LONGEST_DELTA)
