"""Profiles as tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich import box
from rich.table import Table

from retime.light.raster import Fit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from retime.profile.model import Profile

__all__ = ["profile_table", "profiles_table"]


def profiles_table(profiles: Sequence[Profile]) -> Table:
    """Return one row a profile: its name, rates, and promise."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("profile", "rates", "promises"):
        table.add_column(name)
    for profile in profiles:
        table.add_row(profile.name, _rates(profile), profile.promises)
    return table


def profile_table(profile: Profile) -> Table:
    """Return all that a profile says, a key a row."""
    table = Table(box=None, show_header=False, pad_edge=False, padding=(0, 2, 0, 0))
    rows = {
        "profile": profile.name,
        "promises": profile.promises,
        "codec": profile.codec.name if profile.codec else "as scanned",
        "variant": profile.variant_name or "",
        "container": str(profile.container or "as scanned"),
        "pixel formats": ", ".join(profile.pixel_formats) or "as scanned",
        "rates": _rates(profile),
        "scanning": ", ".join(profile.scannings) if profile.codec else "as scanned",
        "raster": _raster(profile),
        "sound": _sound(profile),
        "burn-in": str(profile.burn_place) if profile.codec else "",
        "encoder": profile.codec.encoder if profile.codec else "",
        "options": " ".join(f"{key}={value}" for key, value in profile.encoder_options().items()),
        "threads": str(profile.threads) if profile.codec else "",
        "links": "yes" if profile.links else "",
        "caution": profile.caution,
        "file": str(profile.path),
    }
    for key, value in rows.items():
        if value:
            table.add_row(key, value)
    return table


def _raster(profile: Profile) -> str:
    """Return how pictures come into the profile's raster, nothing where the scan's is kept."""
    if profile.size is None:
        return "" if profile.fit is Fit.KEEP else str(profile.fit)
    width, height = profile.size
    told = f"{profile.fit} {width}x{height}"
    if profile.display_aspect is not None:
        aspect = profile.display_aspect
        told += f", shown at {aspect.numerator}:{aspect.denominator}"
    return told + (f", {profile.active_width} active" if profile.active_width else "")


def _sound(profile: Profile) -> str:
    """Return how sound is coded, and whether it stands in a file of its own."""
    sound = profile.sound
    if sound is None:
        return ""
    told = f"{sound.codec}, {sound.rate} samples a second"
    told += f", {sound.bits} bits" if sound.bits else f", {sound.bit_rate} bits a second"
    inside = profile.container is not None and sound.inside(profile.container)
    return told if inside else f"{told}, in a file beside"


def _rates(profile: Profile) -> str:
    return ", ".join(map(str, profile.rates)) or "any"
