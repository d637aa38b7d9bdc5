"""A contact sheet: one picture of every shot, as a page of HTML and as one PNG picture.

The page needs nothing beside it, and its policy lets nothing else in.
"""

from __future__ import annotations

from base64 import b64encode
from io import BytesIO
from typing import TYPE_CHECKING, Any

from PIL import Image, ImageDraw, ImageFont

from retime import __version__
from retime.picture.glyphs import font_path
from retime.report.new_map import sureness_said
from retime.report.paper import pages, style_of
from retime.shots.found import JoinKind

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from retime.report.new_map import NewReel
    from retime.shots.found import FoundShot, ScanShots

__all__ = ["contact_page", "contact_picture"]

_WIDE = 192  # samples of a picture on the sheet
_ABREAST, _GAP, _LINES, _TEXT = 6, 12, 2, 13
_DARK, _INK, _TITLE = 24, 232, 120
_QUALITY = 82
_MOST_HIGH = 60_000  # samples: what viewers of PNG still open
_LEAST_WIDE, _MOST_SHAPE = 0.3, 4.0


def contact_page(film: str, reels: Sequence[NewReel]) -> str:
    """Return the page; the same shots give the same text."""
    environment = pages()
    return environment.get_template("contact.html").render(
        film=film,
        version=__version__,
        style=style_of(environment, "paper.css", "screen.css", "contact.css"),
        reels=[_reel_values(reel) for reel in reels],
        shots=sum(len(reel.found.shots) for reel in reels),
    )


def _reel_values(reel: NewReel) -> dict[str, Any]:
    return {
        "name": reel.name,
        "scan": reel.address,
        "found": reel.found,
        "shots": [
            {
                "number": number,
                "first": shot.first,
                "last": shot.last,
                "frames": shot.last - shot.first + 1,
                "title": shot.title,
                "sure": sureness_said(shot.sure),
                "join": _join(reel.found, shot),
                "picture": _data_address(_shaped(picture, reel)),
                "size": _size(reel),
            }
            for number, shot, picture in _shots(reel)
        ],
    }


def _shots(reel: NewReel) -> Iterator[tuple[int, FoundShot, NDArray[np.uint8]]]:
    pairs = zip(reel.found.shots, reel.looked.pictures, strict=True)
    yield from ((number, shot, picture) for number, (shot, picture) in enumerate(pairs, 1))


def _join(found: ScanShots, shot: FoundShot) -> str:
    """Return how a shot begins, where that is no cut."""
    for join in found.joins:
        if join.kind is JoinKind.DISSOLVE and join.first <= shot.first <= join.last + 1:
            return f"dissolve {join.first}\N{EN DASH}{join.last}"
        if join.kind is JoinKind.FADE_IN and shot.first <= join.first <= shot.last:
            return f"fade-in {join.first}\N{EN DASH}{join.last}"
    return ""


def _size(reel: NewReel) -> tuple[int, int]:
    """Return columns and rows of a picture on the sheet, in the shape of the scan's."""
    picture = reel.looked.scan.facts.picture
    shape = picture.width / picture.height * float(picture.sample_aspect or 1)
    return _WIDE, max(1, round(_WIDE / min(max(shape, _LEAST_WIDE), _MOST_SHAPE)))


def _shaped(picture: NDArray[np.uint8], reel: NewReel) -> Image.Image:
    return Image.fromarray(picture).resize(_size(reel), Image.Resampling.BILINEAR)


def _data_address(picture: Image.Image) -> str:
    held = BytesIO()
    picture.save(held, "JPEG", quality=_QUALITY)
    return f"data:image/jpeg;base64,{b64encode(held.getvalue()).decode('ascii')}"


def contact_picture(reels: Sequence[NewReel]) -> bytes:
    """Return the sheet as a PNG; of a film that is too long for one, as much as it holds."""
    font = ImageFont.truetype(font_path(), _TEXT)
    cells = [
        (reel, number, shot, picture) for reel in reels for number, shot, picture in _shots(reel)
    ]
    tall = max((_size(reel)[1] for reel in reels), default=1) + _LINES * (_TEXT + 4) + _GAP
    rows = min(-(-len(cells) // _ABREAST), _MOST_HIGH // tall)
    abreast = min(_ABREAST, max(1, len(cells)))
    sheet = Image.new("L", (abreast * (_WIDE + _GAP) + _GAP, max(rows, 1) * tall + _GAP), _DARK)
    pen = ImageDraw.Draw(sheet)
    for place, (reel, number, shot, picture) in enumerate(cells[: rows * _ABREAST]):
        row, column = divmod(place, _ABREAST)
        left, top = _GAP + column * (_WIDE + _GAP), _GAP + row * tall
        shown = _shaped(picture, reel)
        sheet.paste(shown, (left, top))
        if shot.title:
            pen.rectangle(
                (left - 2, top - 2, left + _WIDE + 1, top + shown.height + 1), outline=_TITLE
            )
        said = f"{reel.name}/{number} {'title' if shot.title else ''}"
        for line, text in enumerate((said, f"{shot.first}-{shot.last}")):
            at = top + shown.height + 2 + line * (_TEXT + 3)
            pen.text((left, at), text, fill=_INK, font=font)
    held = BytesIO()
    sheet.save(held, "PNG")
    return held.getvalue()
