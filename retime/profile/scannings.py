"""How a codec's pictures can be scanned in a container, and why not otherwise."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.film.scanning import Scanning

if TYPE_CHECKING:
    from retime.profile.codec import Codec, Variant

__all__ = ["possible_scannings", "why_not_scanned"]


def possible_scannings(
    codec: Codec, variant: Variant | None, container: str
) -> tuple[Scanning, ...]:
    """Return every scanning that stream, container and frames can all say, progressive first."""
    return tuple(one for one in Scanning if why_not_scanned(one, codec, variant, container) is None)


def why_not_scanned(
    scanning: Scanning, codec: Codec, variant: Variant | None, container: str
) -> str | None:
    """Return what keeps a codec's pictures from being scanned so, as a clause; None for nothing."""
    for one in (codec, variant):
        if one is not None and scanning not in one.scannings:
            return one.not_scanned
    if scanning is Scanning.BOTTOM_FIRST and container in codec.top_first_only:
        return f"{container.upper()} cannot say of {codec.name} that the bottom field is first"
    return None
