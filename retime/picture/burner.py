"""Text burnt into pictures: white letters in a dark box, for copies to be referred to by."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from av.filter import Graph

from retime.light.codes import luma_scale
from retime.picture.burning import burn_layout, check_burn, extent_of
from retime.picture.formats import Family, layout_of, plain_name
from retime.picture.glyphs import draw_letter
from retime.picture.ranges import is_narrow
from retime.picture.samples import sample_form, samples

if TYPE_CHECKING:
    from av.video.frame import VideoFrame

    from retime.light.burn_place import BurnPlace
    from retime.light.format import PictureFormat
    from retime.light.raster import Rectangle
    from retime.picture.burning import BurnLayout, Cell, TextExtent
    from retime.picture.samples import SampleForm, Samples

__all__ = ["Burner"]


class Burner:
    """Writes text into copies of pictures of one format, at one place.

    Letters are white and the box is black, both at the codes of the picture's range; an
    unspecified range is narrow for Y'CbCr and full for grey and RGB, which is common practice.
    The box has no colour. Outside it every sample stays as it was.
    """

    def __init__(
        self, picture: PictureFormat, place: BurnPlace, largest: TextExtent | None = None
    ) -> None:
        """Prepare for pictures of a format.

        ``largest`` is the most that any text takes: all are then written in letters of the size
        in which that fits, so that the size does not change from picture to picture. Raises
        NotationError where the pixel format cannot be written in, or ``largest`` does not fit.
        """
        check_burn(picture, largest or extent_of(""))
        self._picture, self._place, self._largest = picture, place, largest
        self._form = _form(picture.pixel_format)
        bits = layout_of(picture.pixel_format).bits
        self._scale = luma_scale(bits, narrow=is_narrow(picture))
        self._neutral = 1 << (bits - 1)
        self._copier = _Copier(picture)
        self._layouts: dict[TextExtent, BurnLayout] = {}
        self._letters: dict[tuple[str, Cell], Samples] = {}

    def burn(self, frame: VideoFrame, text: str) -> VideoFrame:
        """Return a copy of a picture, with its time and tags, that has the text written in it.

        It may have several lines; for one without any letter there is no box. Raises NotationError
        for a text that does not fit, ValueError for a picture of another format than was prepared
        for.
        """
        made = self._copier.copy(frame)
        if not text.strip():
            return made
        layout = self._layout(text)
        written = self._written(text, layout)
        family = layout_of(self._picture.pixel_format).family
        for place, plane in enumerate(made.planes):
            target = samples(plane, self._form)
            if family is Family.YUV and place > 0:
                self._inside(target, layout.box, chroma=True)[:] = self._neutral
            else:
                self._inside(target, layout.box, chroma=False)[:] = written
        return made

    def _layout(self, text: str) -> BurnLayout:
        extent = extent_of(text)
        if extent not in self._layouts:
            self._layouts[extent] = burn_layout(self._picture, self._place, extent, self._largest)
        return self._layouts[extent]

    def _written(self, text: str, layout: BurnLayout) -> Samples:
        """Return a whole box of luma, grey, or red, green and blue."""
        box, cell, wide = layout.box, layout.cell, self._form.per_pixel
        written = np.full((box.height, box.width * wide), self._scale.zero, self._form.kind)
        for line, letters in enumerate(text.split("\n")):
            top = layout.top - box.top + line * cell.height
            row = written[top : top + cell.height]
            for column, letter in enumerate(letters):
                left = (layout.left - box.left + column * cell.width) * wide
                row[:, left : left + cell.width * wide] = self._letter(letter, cell)
        return written

    def _letter(self, letter: str, cell: Cell) -> Samples:
        key = letter, cell
        if key not in self._letters:
            covered = draw_letter(letter, cell) / 255
            codes = self._scale.codes(covered).astype(self._form.kind)
            self._letters[key] = np.repeat(codes, self._form.per_pixel, axis=1)
        return self._letters[key]

    def _inside(self, plane: Samples, box: Rectangle, *, chroma: bool) -> Samples:
        """Return what a box covers of a plane; its sides are whole samples of chroma."""
        layout = layout_of(self._picture.pixel_format)
        across, down = (layout.across, layout.down) if chroma else (1, 1)
        wide = self._form.per_pixel
        left, right = box.left * wide // across, (box.left + box.width) * wide // across
        return plane[box.top // down : (box.top + box.height) // down, left:right]


class _Copier:
    """Copies pictures with all that they say of themselves, by FFmpeg's filter ``copy``.

    It takes its memory from a pool, and so is faster than a new picture that is filled.
    """

    def __init__(self, picture: PictureFormat) -> None:
        self._picture = picture
        self._graphs: dict[str, Graph] = {}

    def copy(self, frame: VideoFrame) -> VideoFrame:
        """Return a picture with samples of its own; raises ValueError for one of another format."""
        picture, name = self._picture, frame.format.name
        if (frame.width, frame.height, plain_name(name)) != (
            picture.width,
            picture.height,
            plain_name(picture.pixel_format),
        ):
            raise ValueError(f"a picture of another format than was prepared for: {frame}")
        if name not in self._graphs:
            self._graphs[name] = _copying(frame)
        graph = self._graphs[name]
        graph.vpush(frame)
        made = graph.vpull()
        made.pts = frame.pts
        if frame.time_base:  # there is none where nobody gave it one
            made.time_base = frame.time_base
        return made


def _copying(frame: VideoFrame) -> Graph:
    graph = Graph()
    source = graph.add_buffer(
        width=frame.width, height=frame.height, format=frame.format, time_base=Fraction(1)
    )
    copy, sink = graph.add("copy"), graph.add("buffersink")
    source.link_to(copy)
    copy.link_to(sink)
    graph.configure()
    return graph


def _form(pixel_format: str) -> SampleForm:
    form = sample_form(pixel_format)
    if form is None:
        raise TypeError(pixel_format)
    return form
