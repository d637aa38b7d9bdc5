"""What a profile asks of its codec that the codec has not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.errors import NotationError
from retime.profile.codecs import CODECS
from retime.profile.scannings import possible_scannings, why_not_scanned

if TYPE_CHECKING:
    from collections.abc import Iterator

    from retime.light.format import PictureFormat
    from retime.profile.codec import Codec, Variant
    from retime.profile.model import ProfileDocument

__all__ = ["check_picture", "codec_faults"]


def check_picture(
    codec: Codec, variant: Variant | None, container: str, picture: PictureFormat
) -> None:
    """Raise NotationError for pictures whose raster or sample aspect has no place there."""
    _check_raster(codec, variant, picture.width, picture.height)
    if container in codec.square_only and picture.sample_aspect not in {None, 1}:
        kind = "a numbered file" if container == "sequence" else container.upper()
        raise NotationError(
            f"{kind} of {codec.name} cannot say a sample aspect of {picture.sample_aspect}",
            "have square samples, with raster: pad and a size, or take another container",
        )


def _check_raster(codec: Codec, variant: Variant | None, width: int, height: int) -> None:
    raster, least = None if variant is None else variant.raster, codec.least_raster
    if variant is not None and raster is not None and raster != (width, height):
        wanted = f"{raster[0]}x{raster[1]}"
        raise NotationError(
            f"{variant.reported} has pictures of {wanted}, not of {width}x{height}",
            f"bring them to {wanted}, with raster: pad, or take another codec",
        )
    if width < least[0] or height < least[1]:
        raise NotationError(
            f"{codec.name} has no pictures as small as {width}x{height}",
            f"the smallest are {least[0]}x{least[1]}",
        )


def codec_faults(document: ProfileDocument) -> Iterator[tuple[tuple[str | int, ...], str, str]]:
    """Yield what a profile that encodes asks in vain: where, what is wrong, what would be right."""
    codec = CODECS[document.codec]
    if document.container not in codec.containers:
        text = f"{codec.name} is not put into {document.container}"
        yield ("container",), text, f"write {' or '.join(codec.containers)}"
    if codec.variants and document.variant not in codec.variants:
        key = "variant" if document.variant else "codec"
        text = f"{codec.name} needs a variant"
        yield (key,), text, f"write one of {', '.join(codec.variants)}"
        return
    if not codec.variants and document.variant:
        yield ("variant",), f"{codec.name} has no variants", "leave the key out"
        return
    variant = codec.variants[document.variant] if document.variant else None
    yield from _format_faults(document, variant)
    yield from _scanning_faults(document, codec, variant)
    if document.size is not None:
        try:
            _check_raster(codec, variant, *document.size)
        except NotationError as error:
            yield ("size",), error.text, error.hint


def _format_faults(
    document: ProfileDocument, variant: Variant | None
) -> Iterator[tuple[tuple[str | int, ...], str, str]]:
    allowed = variant.pixel_formats if variant else ()
    for place, name in enumerate(document.pixel_formats):
        if allowed and name not in allowed:
            text = f"{document.codec} {document.variant} does not hold {name}"
            yield ("pixel-formats", place), text, f"it holds {' and '.join(allowed)}"


def _scanning_faults(
    document: ProfileDocument, codec: Codec, variant: Variant | None
) -> Iterator[tuple[tuple[str | int, ...], str, str]]:
    possible = possible_scannings(codec, variant, document.container)
    for place, scanning in enumerate(document.scanning):
        reason = why_not_scanned(scanning, codec, variant, document.container)
        if reason is not None:
            text = f"pictures cannot be {scanning} here: {reason}"
            yield ("scanning", place), text, f"write {' or '.join(possible)}"
