"""Makes output pictures by their recipes, out of the film frames that have gone by."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.film.scanning import Scanning
from retime.picture.black import black_picture
from retime.picture.mix import Mixer
from retime.picture.weave import weave

if TYPE_CHECKING:
    from av.video.frame import VideoFrame

    from retime.light.format import PictureFormat
    from retime.light.transfer import Transfer
    from retime.render.recipe import Mix, Place, Recipe

__all__ = ["Composer"]


class Composer:
    """Keeps as many film frames, in a deliverable's format, as its pictures still need."""

    def __init__(
        self, picture: PictureFormat, scanning: Scanning, transfer: Transfer | None
    ) -> None:
        """Take the pictures' format; ``transfer`` is needed where any are mixed."""
        self._picture = picture
        self._top_first = scanning is not Scanning.BOTTOM_FIRST
        self._mixer = None if transfer is None else Mixer(picture, transfer)
        self._black: VideoFrame | None = None
        self._frames: dict[Place, VideoFrame] = {}

    def keep(self, place: Place, frame: VideoFrame) -> None:
        """Take a film frame."""
        self._frames[place] = frame

    def release(self, oldest: Place | None) -> None:
        """Let go of the film frames before ``oldest``, or of all where it is None."""
        for place in [one for one in self._frames if oldest is None or one < oldest]:
            del self._frames[place]

    def compose(self, recipe: Recipe) -> VideoFrame:
        """Return a picture; one that is made of a single film frame is that very frame."""
        pictures = [self._mixed(mix) for mix in recipe]
        if len(pictures) == 1:
            return pictures[0]
        return weave(pictures[0], pictures[1], top_first=self._top_first)

    def _mixed(self, mix: Mix) -> VideoFrame:
        if len(mix) == 1:
            return self._frame(mix[0].place)
        if self._mixer is None:
            raise TypeError("a mix needs to know the transfer")
        return self._mixer.mix([(self._frame(source.place), source.weight) for source in mix])

    def _frame(self, place: Place | None) -> VideoFrame:
        if place is not None:
            return self._frames[place]
        if self._black is None:
            self._black = black_picture(self._picture)
        return self._black
