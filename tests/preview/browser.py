"""A real Chromium that opens a page from the disk, and what can be read of it there."""

from __future__ import annotations

import shutil
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from playwright.sync_api import Browser, Page

__all__ = [
    "Opened",
    "opened",
    "sampled",
    "shown_numbers",
    "speed_of",
    "started",
    "unfolded",
]

CHROMIUM = shutil.which("chromium")
NO_CHROMIUM = "there is no Chromium here: scripts/test installs it"

READ_CANVAS = """
const readNumber = (canvas) => {
  window.reader ??= (() => {
    const small = document.createElement("canvas");
    [small.width, small.height] = [8, 1];
    return small.getContext("2d", { willReadFrequently: true });
  })();
  let number = 0;
  for (let bar = 0; bar < 8; bar += 1) {
    window.reader.drawImage(
      canvas, ((bar + 0.5) * canvas.width) / 8, canvas.height / 2, 1, 1, bar, 0, 1, 1);
  }
  const found = window.reader.getImageData(0, 0, 8, 1).data;
  for (let bar = 0; bar < 8; bar += 1) number = number * 2 + (found[4 * bar] > 128 ? 1 : 0);
  return number;
};
"""
"""Reads a canvas's number inside the page, without a warning of Chromium's about its speed."""


@contextmanager
def started(*arguments: str) -> Iterator[Browser]:
    """Start Chromium, which may read pictures of a page from the disk back from its canvases."""
    playwright = pytest.importorskip("playwright.sync_api")
    if CHROMIUM is None:
        pytest.skip(NO_CHROMIUM)
    with playwright.sync_playwright() as driver:
        switches = ["--no-sandbox", "--allow-file-access-from-files", *arguments]
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=switches)
        try:
            yield browser
        finally:
            browser.close()


class Opened:
    """A page, and all that it told the console or asked for."""

    def __init__(self, page: Page) -> None:
        """Listen to a page before it goes anywhere."""
        self.page = page
        self.told: list[str] = []
        self.asked: list[str] = []
        page.on("console", lambda message: self.told.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: self.told.append(f"error: {error}"))
        page.on("request", lambda request: self.asked.append(request.url))


@contextmanager
def opened(
    browser: Browser, address: Path, *, width: int = 1280, height: int = 900, **context: Any
) -> Iterator[Opened]:
    """Open a page in a window of its own, and close it again."""
    window = browser.new_context(viewport={"width": width, "height": height}, **context)
    try:
        found = Opened(window.new_page())
        found.page.goto(address.as_uri())
        found.page.set_default_timeout(5000)
        yield found
    finally:
        window.close()


def shown_numbers(page: Page, *selectors: str) -> list[int]:
    """Return the numbers that canvases carry."""
    reading = "return all.map((one) => readNumber(document.querySelector(one)));"
    found: Sequence[int] = page.evaluate(f"(all) => {{ {READ_CANVAS} {reading} }}", list(selectors))
    return [int(number) for number in found]


SAMPLER = """
({ selectors, seconds }) => new Promise((resolve) => {
  READ_CANVAS
  const canvases = selectors.map((one) => document.querySelector(one));
  const rows = [];
  const each = (now) => {
    rows.push([now, ...canvases.map(readNumber)]);
    // Asked for after the page has asked, so that it comes after the page has drawn.
    if (now - rows[0][0] < seconds * 1000) setTimeout(() => requestAnimationFrame(each));
    else resolve(rows);
  };
  requestAnimationFrame(each);
})
""".replace("READ_CANVAS", READ_CANVAS)


def sampled(page: Page, seconds: float, *selectors: str) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Return a row for each refresh: its time in ms by the browser, and each canvas's number."""
    rows = page.evaluate(SAMPLER, {"selectors": list(selectors), "seconds": seconds})
    return np.array(rows, dtype=np.float64)


def unfolded(numbers: np.ndarray[Any, Any], count: int) -> np.ndarray[Any, Any]:
    """Return numbers that begin again at ``count`` as numbers that go on."""
    steps = np.diff(numbers) % count
    return np.concatenate([numbers[:1], numbers[0] + np.cumsum(steps)])


def speed_of(seconds: np.ndarray[Any, Any], frames: np.ndarray[Any, Any]) -> float:
    """Return how many film frames a second are played, over at least 2.5 s.

    It is the middle one of the slopes between samples half the time apart: a straight line through
    all would follow the few that a busy machine shows late, by more than a per cent.
    """
    apart = seconds[:, None] - seconds
    far = apart >= np.ptp(seconds) / 2
    return float(np.median((frames[:, None] - frames)[far] / apart[far]))
