"""A preview made of numbered pictures, and a real Chromium that opens it from the disk.

Each picture carries its number as bars of black and white, so that what stands on a canvas or on
the screen can be read back from pixels, whatever the page says of itself.
"""

from __future__ import annotations

import shutil
from contextlib import contextmanager
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import av
import numpy as np
import pytest
from PIL import Image

from retime.preview.page import preview_page

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from playwright.sync_api import Browser, Page

__all__ = [
    "BARS",
    "HIGH",
    "WIDE",
    "Opened",
    "numbered",
    "opened",
    "preview_folder",
    "read_number",
    "sample_values",
    "sampled",
    "shown_numbers",
    "started",
    "unfolded",
    "until",
]

BARS = 8
WIDE, HIGH = 160, 120
CHROMIUM = shutil.which("chromium")
NO_CHROMIUM = "there is no Chromium here: scripts/test installs it"


def numbered(number: int) -> np.ndarray[Any, np.dtype[np.uint8]]:
    """Return a picture with ``number`` in bars from left to right, the greatest first."""
    picture = np.full((HIGH, WIDE, 3), 90, np.uint8)
    width = WIDE // BARS
    for bar in range(BARS):
        bit = number >> (BARS - 1 - bar) & 1
        picture[HIGH // 4 : 3 * HIGH // 4, bar * width : (bar + 1) * width] = 235 * bit + 10
    return picture


def read_number(picture: Image.Image) -> int:
    """Return the number that a picture of any size carries."""
    grey = np.asarray(picture.convert("L"))
    row = grey[grey.shape[0] // 2]
    middles = [row[int((bar + 0.5) * len(row) / BARS)] for bar in range(BARS)]
    return sum(int(middle > 128) << (BARS - 1 - bar) for bar, middle in enumerate(middles))


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


def sample_values(**changed: Any) -> dict[str, Any]:
    """Return values of a page: an invented film of two excerpts, with versions and deliveries."""
    values: dict[str, Any] = {
        "format": "retime-preview/1",
        "film": "The Tidewatcher's Lamp",
        "source": "tidewatcher.yaml",
        "from_map": True,
        "map_sha256": None,
        "gauge": "35mm",
        "frames_per_foot": "16",
        "frames": 646,
        "speeds": ["16", "18", "20", "22", "24"],
        "rates": ["24", "25", "30"],
        "versions": [
            {"name": "restrained", "speed": None, "said": "20 fps; 22 fps", "runtime": "32"},
            {"name": "brisk", "speed": "24", "said": "24 fps", "runtime": "323/12"},
        ],
        "excerpts": [
            _excerpt("e1", "Reel 1, shot 4", 120, 48, "action"),
            _excerpt("e2", "Reel 2, shot 5", 30, 20, "title"),
        ],
        "delivered": [
            _delivered("restrained", "20", "24", "repeat"),
            _delivered("restrained", "20", "30", "repeat"),
            _delivered("restrained", "20", "24", "blend"),
        ],
        "flashes": {"found": None, "said": "It can be checked with retime check --flashes."},
    }  # fmt: skip
    return {**values, **changed}


def _excerpt(key: str, title: str, first: int, frames: int, kind: str) -> Any:
    return {
        "key": key,
        "title": title,
        "name": None,
        "reel": title[5],
        "shot": title[-1],
        "kind": kind,
        "first": first,
        "frames": frames,
        "folder": f"pictures/{key}",
        "width": WIDE,
        "height": HIGH,
        "why": "the busiest shot of its reel",
        "speeds": {"restrained": "20", "brisk": {"from": "18", "to": "24"}},
    }


def _delivered(version: str, speed: str, rate: str, method: str) -> dict[str, Any]:
    """Return a delivery of the first excerpt, its cadence from the definition of repeating."""
    step = Fraction(speed) / Fraction(rate)
    looks = [int(at * step) for at in range(int(48 / step))]
    shows = [[k, looks.count(k)] for k in dict.fromkeys(looks)]
    mixes = [[[k, "1/2"], [k + 1, "1/2"]] if at % 2 else [[k, "1"]] for at, k in enumerate(looks)]
    told = {"shows": shows} if method == "repeat" else {"mixes": mixes}
    return {
        "excerpt": "e1",
        "version": version,
        "speed": speed,
        "rate": rate,
        "method": method,
        "file": f"delivered/e1-{version}-{rate}-{method}.mp4",
        "frames": len(looks),
        "cadence": "1:1:1:1:2" if method == "repeat" else None,
        "nearest": None,
        **told,
    }


def preview_folder(folder: Path, values: dict[str, Any]) -> Path:
    """Write a preview with numbered pictures into a folder, and return its page."""
    for excerpt in values["excerpts"]:
        pictures = folder / excerpt["folder"]
        pictures.mkdir(parents=True, exist_ok=True)
        for k in range(excerpt["frames"]):
            path = pictures / f"{k:05d}.jpg"
            if not path.exists():  # excerpts may share a folder
                Image.fromarray(numbered(k)).save(path, quality=90)
    for one in values["delivered"]:
        _write_movie(folder / one["file"], one)
    page = folder / "index.html"
    page.write_text(preview_page(values), encoding="utf-8")
    return page


def _write_movie(path: Path, delivered: dict[str, Any]) -> None:
    """Write a movie whose pictures carry the number of the output frame."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with av.open(str(path), "w") as movie:
        stream = movie.add_stream("libx264", rate=Fraction(delivered["rate"]))
        stream.width, stream.height, stream.pix_fmt = WIDE, HIGH, "yuv420p"
        for at in range(delivered["frames"]):
            movie.mux(stream.encode(av.VideoFrame.from_ndarray(numbered(at), "rgb24")))
        movie.mux(stream.encode())


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


def until(page: Page, expression: str, *, seconds: float = 5) -> None:
    """Wait until an expression is true in the page, whose policy lets no driver wait inside."""
    for _ in range(int(seconds * 50)):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(20)
    pytest.fail(f"after {seconds} s this is still not so: {expression}")


def unfolded(numbers: np.ndarray[Any, Any], count: int) -> np.ndarray[Any, Any]:
    """Return numbers that begin again at ``count`` as numbers that go on."""
    steps = np.diff(numbers) % count
    return np.concatenate([numbers[:1], numbers[0] + np.cumsum(steps)])
