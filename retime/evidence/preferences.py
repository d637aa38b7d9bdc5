"""Which of several speeds is the most preferred, in shares; and the screen they were seen on.

A comparison of pairs ends in a share for each speed: the probability that it is the one that looks
best. Wins are no such thing. Each speed meets all others equally often, so that even one that is
never right wins against worse, and the mean of wins is pulled to the middle of what was offered.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct

from retime.errors import NotationError
from retime.film.notation import parse_number
from retime.film.rounding import half_up
from retime.yamldoc.quoting import quoted

if TYPE_CHECKING:
    from collections.abc import Collection

__all__ = ["Preference", "Screen", "parse_preference", "parse_screen", "whole"]

_SHARE = re.compile(r"([0-9]{1,3})(?:\.([0-9]{1,6}))? *%", re.ASCII)
_SHARE_HINT = "write a share from 0 % to 100 %, such as 12 % or 7.5 %"
_SCREEN_HINT = "write its refresh rate, such as 59.94 Hz"
_OFTEN = Fraction(1, 500)


class Preference(Struct, frozen=True, kw_only=True):
    """A share from 0 to 1, as it was written; it may be ``out`` by half of its last decimal."""

    text: str
    of: Fraction
    out: Fraction

    def __str__(self) -> str:
        """Return what was written."""
        return self.text


class Screen(Struct, frozen=True, kw_only=True):
    """A screen, by how often a second it shows a picture: ``refresh``, in Hz."""

    text: str
    refresh: Fraction

    def odd(self, fps: Fraction) -> Fraction:
        """Return how often a second a film frame stays for a refresh more or fewer than most do.

        At ``fps`` film frames a second each would have to stay for refresh/fps refreshes. Where
        that is no whole number, some stay for one more. 0 where all stay alike.
        """
        return abs(self.refresh - half_up(self.refresh / fps) * fps)

    def uneven(self, fps: Fraction) -> bool:
        """Say whether that happens with more than one refresh in 500, and so may be seen.

        A screen of 60000/1001 Hz shows 20 fps evenly but for one refresh in 1,000, which is once
        in 17 seconds. The limit is ours.
        """
        return self.odd(fps) > _OFTEN * self.refresh

    @property
    def milliseconds(self) -> Fraction:
        """How much longer an odd film frame stays: one refresh."""
        return 1000 / self.refresh


def parse_preference(text: str) -> Preference:
    """Read a share such as ``12 %``; other than elsewhere, 0 % is one."""
    said = _SHARE.fullmatch(text)
    if not said:
        raise NotationError(f"{quoted(text)} is no share", _SHARE_HINT)
    decimals = said[2] or ""
    last = Fraction(1, 100 * 10 ** len(decimals))
    of = int(said[1] + decimals) * last
    if of > 1:
        raise NotationError(f"{quoted(text)} is more than all", _SHARE_HINT)
    return Preference(text=text, of=of, out=last / 2)


def parse_screen(text: str) -> Screen:
    """Read a screen's refresh rate: ``59.94 Hz``, ``60``."""
    written = text.strip()
    number = written.removesuffix("Hz").rstrip()
    hint = _SCREEN_HINT
    refresh = parse_number(number, said=text, noun="refresh rate", hint=hint)
    return Screen(text=f"{number} Hz", refresh=refresh)


def whole(shares: Collection[Preference]) -> Fraction:
    """Return what shares sum to.

    Raises:
        NotationError: that is further from 1 than half of each one's last decimal.
    """
    total = sum((share.of for share in shares), start=Fraction(0))
    if abs(total - 1) > sum(share.out for share in shares) or not total:
        what = f"the shares are {float(100 * total):g} % together"
        raise NotationError(what, "they make 100 %, as far as each is rounded")
    return total
