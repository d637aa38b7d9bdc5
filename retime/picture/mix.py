"""Mixes several pictures into one, as one long exposure would have: the mean of their light."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from av.video.frame import VideoFrame

from retime.errors import NotationError
from retime.light.codes import chroma_scale, luma_scale, luma_weights
from retime.picture.colour import ColourMixer, Stripe
from retime.picture.formats import Family, layout_of, plain_name
from retime.picture.levels import LevelMixer
from retime.picture.ranges import is_narrow
from retime.picture.samples import sample_form, samples

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from fractions import Fraction

    from retime.light.codes import LumaWeights
    from retime.light.format import PictureFormat
    from retime.light.transfer import Transfer
from retime.picture.samples import SampleForm, Samples

__all__ = ["Mixer"]

_BLOCK = 1 << 18  # samples at a time: beside encoders at work, halves and quadruples took longer


class _Seen(NamedTuple):
    """A picture's planes, and of each stripe of Y'CbCr lines whether they are without colour."""

    planes: list[Samples]
    grey: list[bool]


class Mixer:
    """The mean of pictures of one format, computed in linear light, in that same format.

    Each code of grey, red, green or blue goes by itself. So does luma on lines without colour,
    which is exact; lines with colour go by way of red, green and blue, chroma being repeated over
    its luma samples and averaged over them again. Codes are rounded half up.

    Held against double precision and the published curves, no code is off by more than 1 at any
    depth from 8 to 16 bits: at 8 to 12 some in a hundred are, at 16 up to ten. A picture that is
    mixed with its like comes out as it was, to the code.
    """

    def __init__(self, picture: PictureFormat, transfer: Transfer) -> None:
        """Prepare for pictures of a format whose codes stand for light by ``transfer``.

        An unspecified range is narrow for Y'CbCr and full for grey and RGB, and an unspecified
        matrix BT.709 above 576 lines, else BT.601: common practice, both. Raises NotationError
        where the pixel format or the matrix is not one that can be mixed.
        """
        self._picture, self._transfer = picture, transfer
        self._layout = layout_of(picture.pixel_format)
        self._form = _form(picture.pixel_format)
        if self._layout.family is Family.YUV:
            self._weights = _luma_weights(picture)
        self._narrow = is_narrow(picture)
        self._seen: dict[VideoFrame, _Seen] = {}
        self._levels = LevelMixer(
            transfer,
            self._layout.bits,
            luma_scale(self._layout.bits, narrow=self._narrow),
            self._form.kind,
            samples=picture.width * picture.height,
        )

    def mix(self, parts: Sequence[tuple[VideoFrame, Fraction]]) -> VideoFrame:
        """Return the mean of pictures, each by its weight; one alone comes back untouched.

        Weights are above 0 and their sum is 1; the pictures are of the format that was prepared
        for. A picture that is made has the first one's colour tags, and no time.
        """
        frames, weights = [frame for frame, _ in parts], [weight for _, weight in parts]
        self._check(frames, weights)
        if len(frames) == 1:
            return frames[0]
        made = VideoFrame(frames[0].width, frames[0].height, frames[0].format.name)
        made.color_range = frames[0].color_range
        made.colorspace = frames[0].colorspace
        made.color_primaries = frames[0].color_primaries
        made.color_trc = frames[0].color_trc
        planes = [samples(plane, self._form) for plane in made.planes]
        # A film frame goes into one mean after another: it is looked at once.
        self._seen = {frame: self._seen.get(frame) or self._look(frame) for frame in set(frames)}
        sources = [self._seen[frame] for frame in frames]
        if self._layout.family is Family.YUV:
            self._mix_yuv(Stripe(*planes), sources, weights)
        else:
            for target, *of_all in zip(planes, *(one.planes for one in sources), strict=True):
                self._mix_levels(target, of_all, weights)
        return made

    def _check(self, frames: Sequence[VideoFrame], weights: Sequence[Fraction]) -> None:
        if sum(weights) != 1 or min(weights) <= 0:
            raise ValueError(f"weights are above 0 and sum to 1: {', '.join(map(str, weights))}")
        size = (self._picture.width, self._picture.height)
        name = plain_name(self._picture.pixel_format)
        for frame in frames:
            if (frame.width, frame.height) != size or plain_name(frame.format.name) != name:
                raise ValueError(f"a picture of another format than was prepared for: {frame}")

    def _look(self, frame: VideoFrame) -> _Seen:
        """Look at a picture's codes: those past the top count as the top, chroma's apart."""
        planes = [samples(plane, self._form) for plane in frame.planes]
        if self._layout.family is not Family.YUV:
            return _Seen([self._levels.capped(plane) for plane in planes], [])
        neutral = 1 << (self._layout.bits - 1)
        luma, *chroma = planes
        grey = [
            all(bool((plane[under] == neutral).all()) for plane in chroma)
            for _, under in self._stripes(luma)
        ]
        return _Seen([self._levels.capped(luma), *chroma], grey)

    def _stripes(self, luma: Samples) -> Iterator[tuple[slice, slice]]:
        """Yield some lines of luma after others, and the lines of chroma that lie over them."""
        down = self._layout.down
        for rows in _blocks(luma, down):
            yield rows, slice(rows.start // down, -(-rows.stop // down))

    def _mix_levels(
        self, made: Samples, sources: Sequence[Samples], weights: Sequence[Fraction]
    ) -> None:
        mixing = self._levels.mixing(tuple(weights))
        for rows in _blocks(made):
            mixing.mix([source[rows] for source in sources], made[rows])

    def _mix_yuv(self, made: Stripe, sources: Sequence[_Seen], weights: Sequence[Fraction]) -> None:
        """Mix lines with and without colour each in their way."""
        neutral = 1 << (self._layout.bits - 1)
        grey = self._levels.mixing(tuple(weights))
        colour_tables = None
        pictures = [Stripe(*source.planes) for source in sources]
        for at, (rows, under) in enumerate(self._stripes(made.luma)):
            target, *parts = (
                Stripe(one.luma[rows], one.blue[under], one.red[under]) for one in (made, *pictures)
            )
            if all(source.grey[at] for source in sources):
                grey.mix([one.luma for one in parts], target.luma)
                target.blue[:] = target.red[:] = neutral
                continue
            if colour_tables is None:
                colour_tables = [self._colour.weighted(weight) for weight in weights]
            self._colour.mix(parts, colour_tables, target)

    @cached_property
    def _colour(self) -> ColourMixer:
        """The way for lines with colour, whose tables are made when there are some."""
        bits = self._layout.bits
        return ColourMixer(
            self._transfer,
            self._layout,
            luma_scale(bits, narrow=self._narrow),
            chroma_scale(bits, narrow=self._narrow),
            self._weights,
        )


def _form(pixel_format: str) -> SampleForm:
    form = sample_form(pixel_format)
    if form is None:
        what = "with alpha or a palette " if layout_of(pixel_format).alpha else ""
        raise NotationError(
            f"pictures {what}in pixel format {pixel_format} are not blended",
            "those in grey, RGB or planar Y'CbCr of 8 to 16 bits are",
        )
    return form


def _luma_weights(picture: PictureFormat) -> LumaWeights:
    weights = luma_weights(picture.matrix, picture.height)
    if weights is None:
        raise NotationError(
            f"Y'CbCr pictures of matrix code {picture.matrix} are not blended",
            "those of BT.709, BT.601, BT.2020 (not constant luminance), SMPTE 240M and FCC are",
        )
    return weights


def _blocks(plane: Samples, every: int = 1) -> Iterator[slice]:
    """Yield some rows of a plane after others, beginning at multiples of ``every``."""
    height, width = plane.shape
    rows = -(-_BLOCK // (width * every)) * every
    for first in range(0, height, rows):
        yield slice(first, min(first + rows, height))
