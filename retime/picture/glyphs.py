"""The letters that are burnt into pictures: DejaVu Sans Mono, which comes with matplotlib.

Its licence stands beside it there. The font is found without importing matplotlib, and Pillow
draws it.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from retime.errors import RetimeError
from retime.picture.burning import ADVANCE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from retime.picture.burning import Cell

__all__ = ["draw_letter", "font_path"]

_FONT = Path("mpl-data", "fonts", "ttf", "DejaVuSansMono.ttf")
# Letters are drawn this large in square samples and made smaller by means over areas, which gives
# every shape of samples alike. The font's em in samples, and how many lines are above and below
# the baseline: more than any cell has.
_EM, _ABOVE, _BELOW = 512, 640, 320


def font_path() -> Path:
    """Return where the font is; raises RetimeError where matplotlib came without it."""
    found = find_spec("matplotlib")
    for folder in (found.submodule_search_locations or ()) if found else ():
        path = Path(folder, _FONT)
        if path.is_file():
            return path
    raise RetimeError(f"the font {_FONT.name} is not installed; install matplotlib anew")


def draw_letter(letter: str, cell: Cell) -> NDArray[np.uint8]:
    """Return how much of each sample of a cell a letter covers, 0 to 255, shape (height, width).

    What the font has no letter for is drawn as the font's own box; what would stand out of the
    cell is cut off.
    """
    width = float(ADVANCE * _EM)
    sheet = Image.new("L", (-int(-width // 1), _ABOVE + _BELOW))
    ImageDraw.Draw(sheet).text((0, _ABOVE), letter, fill=255, font=_font(), anchor="ls")
    line = float(_EM / cell.em)
    top, bottom = _ABOVE - cell.baseline * line, _ABOVE + (cell.height - cell.baseline) * line
    drawn = sheet.resize(
        (cell.width, cell.height), Image.Resampling.BOX, box=(0, top, width, bottom)
    )
    return np.asarray(drawn)


@lru_cache
def _font() -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(font_path(), _EM, layout_engine=ImageFont.Layout.BASIC)
