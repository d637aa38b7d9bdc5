"""The contact sheet of a first map in a real Chromium, opened from the disk."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np
import pytest
from pages_seen import accessibility, opened

from retime.report.contact_sheet import contact_page
from retime.report.new_map import NewReel
from retime.shots.found import FoundShot, Join, JoinKind, ScanShots
from retime.shots.looking import COLUMNS, ROWS, Looked, scan_at

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytest_plugins = ["in_chromium"]

SCAN = Path(__file__).parents[2] / "demo_media" / "tidewatcher-reel-1.mkv"
WIDTHS = (360, 1280, 3840)
SHOTS = 9
FILM = "<script>alert(1)</script> \"Lamp\" & 'Oil' \N{RIGHT-TO-LEFT OVERRIDE}"
HOSTILE = '"><img src=x onerror=alert(1)>'
LONG = "a-reel-named-at-length-" * 6


def reel(name: str, address: str) -> NewReel:
    """Return a reel of nine shots: each third a title, of all degrees of doubt."""
    shots = tuple(
        FoundShot(first=40 * k, last=40 * k + 39, lettered=(0.1, 0.7, 0.95)[k % 3])
        for k in range(SHOTS)
    )
    ramp = np.linspace(0, 255, ROWS * COLUMNS).reshape(ROWS, COLUMNS).astype(np.uint8)
    found = ScanShots(
        frames=40 * SHOTS,
        first=0,
        last=40 * SHOTS - 1,
        shots=shots,
        joins=(Join(kind=JoinKind.DISSOLVE, first=70, last=89, sure=0.5),),
        head=(),
        tail=(),
    )
    looked = Looked(scan=scan_at(SCAN), found=found, pictures=(ramp,) * SHOTS)
    return NewReel(name=name, address=address, looked=looked)


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write the page of a film and of reels that are named to do harm."""
    file = tmp_path_factory.mktemp("sheet") / "contact-sheet.html"
    reels = [reel("1", f"scans/{HOSTILE}.mkv"), reel(HOSTILE, f"{LONG}.mkv"), reel(LONG, "r3.mkv")]
    file.write_text(contact_page(FILM, reels), encoding="utf-8")
    return file


@pytest.mark.parametrize(
    ("width", "scheme"), [(360, "light"), (360, "dark"), (1280, "light"), (3840, "dark")]
)
def test_the_sheet_asks_for_nothing_says_nothing_and_never_scrolls_sideways(
    browser: Browser, sheet: Path, width: int, scheme: Literal["light", "dark"]
) -> None:
    with opened(browser, sheet, width, scheme) as one:
        wide = one.page.evaluate("document.documentElement.scrollWidth")

        assert [] == one.said
        # Pictures are within the page; nothing else is asked for.
        assert {sheet.as_uri()} == {url for url in one.asked if not url.startswith("data:image/")}
        assert width == wide


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (360, "dark")])
def test_an_automatic_check_of_accessibility_finds_nothing_serious_on_the_sheet(
    browser: Browser, sheet: Path, width: int, scheme: Literal["light", "dark"]
) -> None:
    with opened(browser, sheet, width, scheme) as one:
        serious, met = accessibility(one.page)

        assert [] == serious
        assert {"color-contrast", "image-alt"} <= met


def test_names_that_are_meant_to_do_harm_are_text(browser: Browser, sheet: Path) -> None:
    with opened(browser, sheet) as one:
        count = "document.querySelectorAll('script, [onerror], img:not([alt^=Shot])').length"

        assert 0 == one.page.evaluate(count)
        assert FILM == one.page.text_content("h1")
        assert FILM.strip() in one.page.title()
        assert f"Reel {HOSTILE}" == one.page.text_content("#reel-2 h2")
        assert f"Shot {HOSTILE}/2, a title" == one.page.get_attribute("#reel-2 li + li img", "alt")


def test_every_picture_is_drawn_in_the_scans_shape_and_titles_are_framed(
    browser: Browser, sheet: Path
) -> None:
    with opened(browser, sheet) as one:
        drawn = one.page.evaluate(
            "Array.from(document.images, (one) => [one.complete && one.naturalWidth,"
            " one.clientWidth / one.clientHeight, getComputedStyle(one).outlineWidth,"
            " one.alt.endsWith('a title')])"
        )

    assert 3 * SHOTS == len(drawn)
    assert {COLUMNS} == {row[0] for row in drawn}
    assert all(abs(shape - 4 / 3) < 0.02 for _, shape, _, _ in drawn)
    assert {("2px", True), ("1px", False)} == {(frame, title) for _, _, frame, title in drawn}


LAID = """
[...document.querySelectorAll("#reel-1 img")].map((one) => one.getBoundingClientRect())
  .concat(document.querySelector("#reel-1 h2").getBoundingClientRect())
  .map(({ right, top }) => [right, top])
"""


def abreast(page: Page) -> int:
    """Return how many of a reel's pictures lie in its first row, which fills the page's width."""
    *pictures, (edge, _) = page.evaluate(LAID)
    first = [right for right, top in pictures if top == pictures[0][1]]
    if len(first) < len(pictures):
        assert first[-1] == pytest.approx(edge)
    return len(first)


def test_pictures_lie_two_abreast_on_a_telephone_and_more_on_wider_screens(
    browser: Browser, sheet: Path
) -> None:
    counts = []
    with opened(browser, sheet) as one:
        for width in WIDTHS:
            one.page.set_viewport_size({"width": width, "height": 900})
            counts.append(abreast(one.page))

    assert 2 == counts[0] < counts[1] < counts[2]


def test_the_sheet_is_dark_where_that_is_asked_for_but_not_on_paper(
    browser: Browser, sheet: Path
) -> None:
    colour = "getComputedStyle(document.body).backgroundColor"
    with opened(browser, sheet, scheme="dark") as one:
        dark = one.page.evaluate(colour)
        one.page.emulate_media(media="print")
        paper = one.page.evaluate(colour)

    assert "rgb(255, 255, 255)" == paper != dark
