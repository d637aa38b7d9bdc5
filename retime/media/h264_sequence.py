"""What an H.264 stream says of itself: sequence parameters, ITU-T H.264, 7.3.2.1.1 and annex E.

The syntax was written down from memory and held against what the ffmpeg program's trace_headers
filter tells.
"""

from __future__ import annotations

from fractions import Fraction

from msgspec import Struct

from retime.media.bits import BitReader

__all__ = ["H264Buffer", "H264Sequence", "h264_sequence", "unescaped"]

_WITH_CHROMA = frozenset({44, 83, 86, 100, 110, 118, 122, 128, 134, 135, 138, 139, 244})
_SEPARATE = 3  # chroma_format_idc 4:4:4, whose planes may be coded apart
_UNITS = {0: (1, 1), 1: (2, 2), 2: (2, 1), 3: (1, 1)}  # samples that a step of cropping takes
_LISTS = {False: 8, True: 12}  # scaling lists, by whether chroma is 4:4:4
_SHORT_LISTS = 6
_EXTENDED = 255  # aspect_ratio_idc
_ASPECTS = (  # table E-1
    *((0, 1), (1, 1), (12, 11), (10, 11), (16, 11), (40, 33), (24, 11), (20, 11), (32, 11)),
    *((80, 33), (18, 11), (15, 11), (64, 33), (160, 99), (4, 3), (3, 2), (2, 1)),
)


class H264Buffer(Struct, frozen=True, kw_only=True):
    """A hypothetical decoder's buffer (HRD): rate in bits a second, size in bits.

    ``initial_bits``, ``delay_bits`` and ``output_bits`` are how long delays are in the messages
    that go with pictures. ``network`` if it is the buffer of whole units (NAL), as on a disc.
    """

    bit_rate: int
    buffer_bits: int
    constant: bool
    network: bool
    initial_bits: int
    delay_bits: int
    output_bits: int


class H264Sequence(Struct, frozen=True, kw_only=True):
    """A set of sequence parameters.

    ``raster`` is without what is cropped. ``rate`` is in frames a second, None where it is not
    said, as are ``sample_aspect`` and ``buffer``. ``frame_number_bits`` and ``planes_apart`` are
    what reading a slice's head takes.
    """

    profile: int
    level: int
    raster: tuple[int, int]
    frames_only: bool
    sample_aspect: Fraction | None
    rate: Fraction | None
    buffer: H264Buffer | None
    has_structure: bool
    frame_number_bits: int
    planes_apart: bool


class _Usability(Struct, frozen=True, kw_only=True):
    """Video usability information: annex E."""

    sample_aspect: Fraction | None = None
    rate: Fraction | None = None
    buffer: H264Buffer | None = None
    has_structure: bool = False


def unescaped(body: bytes) -> bytes:
    """Return a unit without the bytes that keep start codes out of it: section 7.3.1."""
    return body.replace(b"\0\0\3", b"\0\0")


def h264_sequence(unit: bytes) -> H264Sequence:
    """Read a unit of sequence parameters, from its type byte on; raises ValueError, as a clause."""
    bits = BitReader(unescaped(unit))
    bits.take(8)
    profile, _, level = bits.take(8), bits.take(8), bits.take(8)
    bits.unsigned()  # seq_parameter_set_id
    chroma, planes_apart = _chroma(bits) if profile in _WITH_CHROMA else (1, False)
    frame_number_bits = bits.unsigned() + 4
    _pass_order_count(bits)
    bits.unsigned()  # max_num_ref_frames
    bits.flag()  # gaps_in_frame_num_value_allowed_flag
    columns, rows, frames_only = bits.unsigned() + 1, bits.unsigned() + 1, bits.flag()
    if not frames_only:
        rows *= 2
        bits.flag()  # mb_adaptive_frame_field_flag
    bits.flag()  # direct_8x8_inference_flag
    crop = [bits.unsigned() for _ in range(4)] if bits.flag() else [0, 0, 0, 0]
    across, down = _UNITS[chroma]
    down *= 1 if frames_only else 2
    usability = _usability(bits) if bits.flag() else _Usability()
    return H264Sequence(
        profile=profile,
        level=level,
        raster=(16 * columns - across * sum(crop[:2]), 16 * rows - down * sum(crop[2:])),
        frames_only=frames_only,
        sample_aspect=usability.sample_aspect,
        rate=usability.rate,
        buffer=usability.buffer,
        has_structure=usability.has_structure,
        frame_number_bits=frame_number_bits,
        planes_apart=planes_apart,
    )


def _chroma(bits: BitReader) -> tuple[int, bool]:
    """Return chroma_format_idc and whether planes are coded apart; read past depths and lists."""
    chroma = bits.unsigned()
    if chroma not in _UNITS:
        raise ValueError(f"the stream has the unknown chroma format {chroma}")
    planes_apart = chroma == _SEPARATE and bits.flag()
    bits.unsigned()  # bit depths
    bits.unsigned()
    bits.flag()  # qpprime_y_zero_transform_bypass_flag
    if bits.flag():
        for number in range(_LISTS[chroma == _SEPARATE]):
            if bits.flag():
                _pass_scaling_list(bits, 16 if number < _SHORT_LISTS else 64)
    return chroma, planes_apart


def _pass_scaling_list(bits: BitReader, size: int) -> None:
    scale = 8
    for _ in range(size):
        scale = (scale + bits.signed()) % 256
        if scale == 0:
            return


def _pass_order_count(bits: BitReader) -> None:
    kind = bits.unsigned()
    if kind == 0:
        bits.unsigned()
    elif kind == 1:
        bits.flag()
        bits.signed()
        bits.signed()
        for _ in range(bits.unsigned()):
            bits.signed()


def _usability(bits: BitReader) -> _Usability:
    aspect = _sample_aspect(bits) if bits.flag() else None
    if bits.flag():  # overscan_info
        bits.flag()
    if bits.flag():  # video_signal_type
        bits.take(4)
        if bits.flag():
            bits.take(24)
    if bits.flag():  # chroma_loc_info
        bits.unsigned()
        bits.unsigned()
    rate = None
    if bits.flag():
        tick, scale, _ = bits.take(32), bits.take(32), bits.flag()
        rate = Fraction(scale, 2 * tick) if tick else None
    buffers = [_buffer(bits, network=network) if bits.flag() else None for network in (True, False)]
    if any(buffers):
        bits.flag()  # low_delay_hrd_flag
    return _Usability(
        sample_aspect=aspect,
        rate=rate,
        buffer=buffers[0] or buffers[1],
        has_structure=bits.flag(),
    )


def _sample_aspect(bits: BitReader) -> Fraction | None:
    code = bits.take(8)
    width, height = (0, 1)
    if code == _EXTENDED:
        width, height = bits.take(16), bits.take(16)
    elif code < len(_ASPECTS):
        width, height = _ASPECTS[code]
    return Fraction(width, height) if width and height else None


def _buffer(bits: BitReader, *, network: bool) -> H264Buffer:
    """Read HRD parameters; of several sets, the last, which is the one of the highest rate."""
    count = bits.unsigned() + 1
    rate_scale, size_scale = bits.take(4), bits.take(4)
    for _ in range(count):
        rate, size, constant = bits.unsigned() + 1, bits.unsigned() + 1, bits.flag()
    initial, delay, output = (bits.take(5) + 1 for _ in range(3))
    bits.take(5)  # time_offset_length
    return H264Buffer(
        bit_rate=rate << (6 + rate_scale),
        buffer_bits=size << (4 + size_scale),
        constant=constant,
        network=network,
        initial_bits=initial,
        delay_bits=delay,
        output_bits=output,
    )
