"""The edges of boxes that scroll, as they are seen: shaded where more follows."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

__all__ = ["edges_shaded", "unshaded"]

_LEAST = 12  # of 255: how far an edge stands from the paper at least


def edges_shaded(box: Locator) -> tuple[bool, bool]:
    """Say whether the left and the right edge of a box differ from the paper.

    What is written over an edge covers less than half of it: the middle of its pixels is paper, or
    shade.
    """
    image = pytest.importorskip("PIL.Image", reason="Pillow is not installed")
    with image.open(io.BytesIO(box.screenshot())) as shot:
        grey = np.asarray(shot.convert("L"), dtype=int)
    paper = int(np.median(grey))
    left, right = (abs(int(np.median(grey[:, at])) - paper) for at in (1, -2))
    return left >= _LEAST, right >= _LEAST


def unshaded(page: Page) -> None:
    """Take the shades away, which a check of contrasts cannot reckon with."""
    page.evaluate(
        "document.querySelectorAll('.wide').forEach(box => { box.style.background = 'none' })"
    )
