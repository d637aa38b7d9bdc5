"""What is asked of a disc's stream, and what one coded picture counts for against its limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from fractions import Fraction

    from retime.film.scanning import Scanning
    from retime.film.speed import Rate

__all__ = ["DiscPicture", "Promised", "Stated"]


class Promised(Struct, frozen=True, kw_only=True):
    """What a file was to be.

    ``fields`` is how many it shows in all, two to an output frame whatever its scanning;
    ``starts`` are those before which a player can be sent, 0 among them: the chapters.
    """

    container: str
    rate: Rate
    raster: tuple[int, int]
    sample_aspect: Fraction
    display_aspect: Fraction
    scanning: Scanning
    fields: int
    starts: frozenset[int]


class Stated(Struct, frozen=True, kw_only=True):
    """The decoder's buffer as a stream states it.

    It fills at ``bit_rate`` bits a second and holds ``buffer_bits``, of which ``at_first`` are
    there when decoding begins, all of them where None is said.
    """

    bit_rate: int
    buffer_bits: int
    at_first: int | None = None


class DiscPicture(Struct, frozen=True, kw_only=True):
    """A coded picture, in coded order.

    ``until_next`` are the fields until the next picture is decoded. ``begins`` if it begins a
    group, which is ``closed`` if nothing in it refers to the group before. ``stated`` is what its
    headers say of the buffer. ``faults`` are what they have wrong: which rule, and what, as a
    clause.
    """

    bits: int
    fields: int
    until_next: int
    begins: bool
    closed: bool
    stated: Stated | None = None
    faults: tuple[tuple[str, str], ...] = ()
