"""Each picture encoded once for all deliverables of its format, of a codec that stands alone."""

from __future__ import annotations

from collections import Counter, deque
from itertools import tee
from typing import TYPE_CHECKING

from retime.errors import RetimeError
from retime.media.encoder import PictureEncoder
from retime.render.composer import Composer
from retime.render.cursor import Cursor
from retime.render.failures import Failures
from retime.render.files import Files, Nowhere

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from av.packet import Packet
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

    from retime.edition.plates import PlateSource
    from retime.media.encoder import EncoderSettings
    from retime.render.composer import Look
    from retime.render.files import Outlet, Writer
    from retime.render.order import Order
    from retime.render.recipe import Place, Recipe

__all__ = ["EncodeOnce", "Share"]


class Share:
    """One deliverable's share of the encoded pictures.

    An encoder gives pictures back later than it takes them, so there are two cursors:
    ``demand`` goes with the pictures that are fed, ``cursor`` with those that are written.
    """

    def __init__(self, order: Order, writer: Writer) -> None:
        """Stand before the plan's first picture."""
        self.order = order
        self.writer = writer
        fed, shown = tee(order.pictures())
        self.demand = Cursor(fed, order.loops)
        self.cursor = Cursor(shown, order.loops)

    @property
    def written(self) -> int:
        """How many output frames are written."""
        return self.writer.written


def _look(orders: Sequence[Order]) -> Look:
    """Return how the pictures of all orders look; those that mix none do not know the curve."""
    looks = [order.look() for order in orders]
    return next((look for look in looks if look.transfer is not None), looks[0])


class EncodeOnce:
    """One encoder, and the deliverables that its pictures go into."""

    def __init__(
        self,
        settings: EncoderSettings,
        orders: Sequence[Order],
        plates: Mapping[str, PlateSource],
        outlet: Outlet | None = None,
        failures: Failures | None = None,
    ) -> None:
        """Open the encoder and every file; ``outlet`` opens what is to stand for the files.

        What goes wrong with one deliverable alone is told to ``failures``.
        """
        self._outlet = outlet or Files()
        self._failures = failures or Failures()
        self._encoder = PictureEncoder(settings, orders[0].work)
        self._composer = Composer(_look(orders), plates)
        self._waiting: deque[Recipe] = deque()
        self._coded: dict[Recipe, Packet[VideoStream]] = {}
        self._uses: Counter[Recipe] = Counter()
        self.shares: list[Share] = []
        for order in orders:
            try:
                self.shares.append(Share(order, self._writer(order)))
            except RetimeError as error:
                self._failures.take([order.name], error)

    @property
    def orders(self) -> list[Order]:
        """The deliverables that are made."""
        return [share.order for share in self.shares]

    def _writer(self, order: Order) -> Writer:
        if order.container == "sequence":
            codec = order.profile.codec
            return self._outlet.sequence(order, codec.ending if codec else "")
        return self._outlet.movie(order, self._encoder.template, self._encoder.settings.tag)

    def wants(self, place: Place) -> bool:
        """Tell whether any deliverable shows a film frame."""
        asked = [share.demand.wants(place) for share in self.shares]  # each has to look ahead
        return any(asked)

    def feed(self, place: Place, picture: VideoFrame) -> None:
        """Take the picture of a film frame, in the encoder's format."""
        self._composer.keep(place, picture)
        self._encode_ready(place)
        oldest = [one for share in self.shares if (one := share.demand.oldest()) is not None]
        self._composer.release(min(oldest, default=None))

    def _encode_ready(self, place: Place | None) -> None:
        """Encode what can be made now, whoever wants it, each picture once."""
        due = Counter(one.recipe for share in self.shares for one in share.demand.ready(place))
        for recipe, uses in due.items():
            known = recipe in self._uses
            self._uses[recipe] += uses
            if not known:
                self._waiting.append(recipe)
                self._pass_on(self._encoder.encode(self._composer.compose(recipe)))

    def _pass_on(self, packets: Iterable[Packet[VideoStream]]) -> None:
        """Write each packet, which come in the order of the pictures, where it is shown."""
        for packet in packets:
            self._coded[self._waiting.popleft()] = packet
            for share in self.shares:
                self._apart(share, self._write)

    def _apart(self, share: Share, work: Callable[[Share], None]) -> None:
        """Do something for one deliverable; what goes wrong there is not the others' business."""
        try:
            work(share)
        except RetimeError as error:
            self._failures.take([share.order.name], error)
            share.writer.abandon()
            share.writer = Nowhere()  # its cursors go on: pictures are kept until all have had them

    def _write(self, share: Share) -> None:
        """Write what comes next in a deliverable, as far as it is encoded."""
        while (recipe := share.cursor.recipe) is not None and recipe in self._coded:
            share.writer.repeat(self._coded[recipe], share.cursor.take())
            self._uses[recipe] -= 1
            if not self._uses[recipe]:
                del self._uses[recipe], self._coded[recipe]

    def finish(self) -> None:
        """Complete every file."""
        self._encode_ready(None)
        self._pass_on(self._encoder.finish())
        for share in self.shares:
            self._apart(share, self._complete)
        self._encoder.close()
        self._composer.close()

    def _complete(self, share: Share) -> None:
        self._write(share)
        share.writer.finish()

    def abandon(self) -> None:
        """Close every file as it stands."""
        for share in self.shares:
            share.writer.abandon()
        self._encoder.close()
        self._composer.close()
