"""Blends computed again in double precision, from the published curves and equations alone.

Nothing here is the program's own: the curves are written from their standards once more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from av.video.format import VideoFormat
from av.video.frame import VideoFrame

if TYPE_CHECKING:
    from collections.abc import Sequence
    from fractions import Fraction

    from av.video.plane import VideoPlane
    from numpy.typing import NDArray

Values: TypeAlias = "NDArray[np.float64]"
Codes: TypeAlias = "NDArray[np.int64]"

# Rec. ITU-R BT.709-6 and BT.601-7: what of red and of blue is in luma.
BT709, BT601 = (0.2126, 0.0722), (0.299, 0.114)


def to_light(transfer: str, signal: Values) -> Values:
    """Decode as Rec. ITU-R BT.1886, IEC 61966-2-1 and Kodak's 95/685 printing density have it."""
    sign, size = np.sign(signal), abs(signal)
    if transfer == "bt1886":
        return sign * size**2.4
    if transfer == "srgb":
        return sign * np.where(size <= 0.04045, size / 12.92, ((size + 0.055) / 1.055) ** 2.4)
    if transfer == "log":
        black = 10 ** ((95 - 685) * 0.002 / 0.6)
        return (10 ** ((1023 * signal - 685) * 0.002 / 0.6) - black) / (1 - black)
    return signal


def to_signal(transfer: str, light: Values) -> Values:
    """Encode as the same documents have it."""
    sign, size = np.sign(light), abs(light)
    if transfer == "bt1886":
        return sign * size ** (1 / 2.4)
    if transfer == "srgb":
        bent = 1.055 * size ** (1 / 2.4) - 0.055
        return sign * np.where(size <= 0.0031308, size * 12.92, bent)
    if transfer == "log":
        black = 10 ** ((95 - 685) * 0.002 / 0.6)
        return (685 + 0.6 / 0.002 * np.log10(light * (1 - black) + black)) / 1023
    return light


def mixed_levels(
    transfer: str, parts: Sequence[tuple[Codes, Fraction]], black: int, white: int, top: int
) -> Codes:
    """Return the codes of a mean whose parts stand for light code by code."""
    light = sum(
        float(weight) * to_light(transfer, (codes - black) / (white - black))
        for codes, weight in parts
    )
    return whole(black + (white - black) * to_signal(transfer, np.asarray(light)), top)


def mixed_colours(
    transfer: str,
    parts: Sequence[tuple[Sequence[Codes], Fraction]],
    *,
    bits: int,
    luma_parts: tuple[float, float],
) -> list[Codes]:
    """Return luma and chroma of a mean of narrow-range Y'CbCr, by way of red, green and blue.

    Chroma is repeated over its luma samples and averaged over them again. Figures and equations
    are those of Rec. ITU-R BT.709-6, luma's parts aside.
    """
    depth = 1 << (bits - 8)
    light = np.zeros((3, *parts[0][0][0].shape))
    for (luma, *chroma), weight in parts:
        blue, red = (over_luma((one - 128 * depth) / (224 * depth), luma.shape) for one in chroma)
        rgb = to_rgb((luma - 16 * depth) / (219 * depth), blue, red, luma_parts)
        light += float(weight) * to_light(transfer, rgb)
    signals = to_signal(transfer, light)
    shade = signals[0] * luma_parts[0] + signals[2] * luma_parts[1]
    shade += signals[1] * (1 - sum(luma_parts))
    made = [whole((16 + 219 * shade) * depth, (1 << bits) - 1)]
    for colour, part in ((signals[2], luma_parts[1]), (signals[0], luma_parts[0])):
        difference = under_luma((colour - shade) / (2 * (1 - part)), parts[0][0][1].shape)
        made.append(whole((128 + 224 * difference) * depth, (1 << bits) - 1))
    return made


def to_rgb(luma: Values, blue: Values, red: Values, luma_parts: tuple[float, float]) -> Values:
    """Return red, green and blue of luma and colour differences, shape (3, height, width)."""
    of_red, of_blue = luma_parts
    r, b = luma + 2 * (1 - of_red) * red, luma + 2 * (1 - of_blue) * blue
    return np.stack([r, (luma - of_red * r - of_blue * b) / (1 - of_red - of_blue), b])


def over_luma(chroma: Values, shape: tuple[int, ...]) -> Values:
    """Repeat chroma over the luma samples of a picture of a shape."""
    down, across = (-(-many // few) for many, few in zip(shape, chroma.shape, strict=True))
    return chroma.repeat(down, axis=0).repeat(across, axis=1)[: shape[0], : shape[1]]


def under_luma(values: Values, shape: tuple[int, ...]) -> Values:
    """Average values over the luma samples of each chroma sample."""
    rows, columns = values.shape
    down, across = (-(-many // few) for many, few in zip(values.shape, shape, strict=True))
    padded = np.full((shape[0] * down, shape[1] * across), np.nan)
    padded[:rows, :columns] = values
    mean: Values = np.nanmean(padded.reshape(shape[0], down, shape[1], across), axis=(1, 3))
    return mean


def whole(values: Values, top: int) -> Codes:
    """Round half up, within the codes that there are."""
    return np.clip(np.floor(values + 0.5), 0, top).astype(np.int64)


def drawn(pixel_format: str, *planes: Codes) -> VideoFrame:
    """Make a picture of codes, a plane each: three for Y'CbCr and planar RGB, else one.

    A packed plane has its components side by side. What pads the lines is filled with rubbish.
    """
    height, width = planes[0].shape
    made = VideoFrame(width // components(pixel_format), height, pixel_format)
    for plane, codes in zip(made.planes, planes, strict=True):
        samples = lines_of(pixel_format, plane)
        samples[:] = 0xA5
        samples[:, : codes.shape[1]] = codes
    return made


def codes_of(frame: VideoFrame) -> list[Codes]:
    """Return a picture's codes, as they are given to ``drawn``."""
    each = components(frame.format.name)
    return [
        lines_of(frame.format.name, plane)[:, : plane.width * each].astype(np.int64)
        for plane in frame.planes
    ]


def components(pixel_format: str) -> int:
    """Return how many samples a pixel has in one plane."""
    return {"rgb2": 3, "bgr2": 3, "rgb4": 3, "bgr4": 3, "bgr0": 4}.get(pixel_format[:4], 1)


def lines_of(pixel_format: str, plane: VideoPlane) -> NDArray[np.unsignedinteger]:
    """Return a plane's lines with what pads them, to read and to write."""
    wide = max(part.bits for part in VideoFormat(pixel_format).components) > 8
    kind: np.dtype[np.unsignedinteger] = np.dtype(np.uint8)
    if wide:
        kind = np.dtype(">u2" if pixel_format.endswith("be") else "<u2")
    return np.frombuffer(memoryview(plane), kind).reshape(plane.height, -1)
