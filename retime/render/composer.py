"""Makes output pictures by their recipes, out of the film frames that have gone by."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from retime.film.scanning import Scanning
from retime.picture.black import black_picture
from retime.picture.mix import Mixer
from retime.picture.weave import weave
from retime.render.plate_desk import PlateDesk
from retime.render.recipe import Mounted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from av.video.frame import VideoFrame

    from retime.edition.plates import PlateSource
    from retime.light.burn_place import BurnPlace
    from retime.light.format import PictureFormat
    from retime.light.transfer import Transfer
    from retime.picture.burner import Burner
    from retime.picture.burning import TextExtent
    from retime.render.recipe import Mix, Place, Recipe, Source

__all__ = ["Composer", "Look"]


class Look(Struct, frozen=True, kw_only=True):
    """How all pictures of an encoder look.

    ``transfer`` is needed where any are mixed; ``burn_place`` and ``captions``, the most that a
    caption takes, where any are burnt in.
    """

    picture: PictureFormat
    scanning: Scanning
    transfer: Transfer | None = None
    burn_place: BurnPlace | None = None
    captions: TextExtent | None = None


class Composer:
    """Keeps as many film frames, in a deliverable's format, as its pictures still need."""

    def __init__(self, look: Look, plates: Mapping[str, PlateSource]) -> None:
        """Take how pictures look, and the files that plates come from by their addresses."""
        self._look = look
        self._top_first = look.scanning is not Scanning.BOTTOM_FIRST
        self._mixer = None if look.transfer is None else Mixer(look.picture, look.transfer)
        self._burner = _burner(look)
        self._plates = PlateDesk(plates, look.picture)
        self._black: VideoFrame | None = None
        self._frames: dict[Place, VideoFrame] = {}

    def keep(self, place: Place, frame: VideoFrame) -> None:
        """Take a film frame."""
        self._frames[place] = frame

    def release(self, oldest: Place | None) -> None:
        """Let go of the film frames before ``oldest``, or of all where it is None."""
        for place in [one for one in self._frames if oldest is None or one < oldest]:
            del self._frames[place]

    def close(self) -> None:
        """Let go of the files that plates come from."""
        self._plates.close()

    def compose(self, recipe: Recipe) -> VideoFrame:
        """Return a picture; one that is made of a single film frame is that very frame."""
        pictures = [self._mixed(mix) for mix in recipe.mixes]
        made = pictures[0]
        if len(pictures) > 1:
            made = weave(pictures[0], pictures[1], top_first=self._top_first)
        if not recipe.burnt:
            return made
        if self._burner is None:
            raise TypeError("a caption needs a place")
        return self._burner.burn(made, recipe.burnt)

    def _mixed(self, mix: Mix) -> VideoFrame:
        if len(mix) == 1:
            return self._shown(mix[0])
        if self._mixer is None:
            raise TypeError("a mix needs to know the transfer")
        return self._mixer.mix([(self._shown(source), source.weight) for source in mix])

    def _shown(self, source: Source) -> VideoFrame:
        if isinstance(source.shows, Mounted):
            return self._plates.picture(source.shows)
        if source.shows is not None:
            return self._frames[source.shows]
        if self._black is None:
            self._black = black_picture(self._look.picture)
        return self._black


def _burner(look: Look) -> Burner | None:
    if look.burn_place is None:
        return None
    from retime.picture.burner import Burner  # noqa: PLC0415 - it loads a font's library

    return Burner(look.picture, look.burn_place, look.captions)
