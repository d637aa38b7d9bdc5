"""The page of a weighing in a real Chromium, opened from the disk."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import pytest
from edges_seen import edges_shaded, unshaded
from msgspec import structs
from pages_seen import accessibility, opened, until
from weighings import evidence, instruction, score, weighed

from retime.evidence.reading import load
from retime.report.weighing_page import weighing_page

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytest_plugins = ["in_chromium"]

DEMO = Path(__file__).parents[2] / "demo_media" / "evidence.yaml"
WIDTHS = (360, 600, 1280, 3840)
HOSTILE = '<script>alert(1)</script> "\'&amp; $x^2$ {{ 7*7 }} #1 id="a" 映画' + "x" * 90


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Return the pages as files, by name."""
    folder = tmp_path_factory.mktemp("pages")
    speeds = [Fraction(16) + Fraction(place, 2) for place in range(12)]
    hostile = instruction(source=HOSTILE, note=HOSTILE)
    said = tuple(structs.replace(one, said=HOSTILE) for one in hostile.implied)
    odd = structs.replace(hostile, implied=said)
    found = {
        "demo": load(DEMO),
        "hostile": evidence(odd, score(), candidates=speeds, film=HOSTILE),
    }
    files = {}
    for name, told in found.items():
        files[name] = folder / f"{name}.html"
        files[name].write_text(weighing_page(told, weighed(told)), encoding="utf-8")
    return files


@pytest.mark.parametrize("name", ["demo", "hostile"])
def test_the_page_asks_for_nothing_says_nothing_and_never_scrolls_sideways(
    browser: Browser, pages: dict[str, Path], name: str
) -> None:
    for width in WIDTHS:
        with opened(browser, pages[name], width) as one:
            wide = one.page.evaluate("document.documentElement.scrollWidth")

            assert [] == one.said
            assert [pages[name].as_uri()] == one.asked
            assert width == wide


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (360, "dark")])
def test_an_automatic_check_of_accessibility_finds_nothing_serious(
    browser: Browser, pages: dict[str, Path], width: int, scheme: Literal["light", "dark"]
) -> None:
    with opened(browser, pages["demo"], width, scheme) as one:
        unshaded(one.page)
        serious, met = accessibility(one.page)

        assert [] == serious
        assert "color-contrast" in met


def _luminance(colour: str) -> float:
    """Return the relative luminance of a colour, as WCAG 2.2 defines it."""
    parts = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def _contrasts(page: Page, selector: str, of: str) -> list[float]:
    """Return the contrast ratios of what is drawn and the paper, as WCAG 2.2 defines them."""
    found: list[Any] = page.evaluate(
        f"[getComputedStyle(document.body).backgroundColor, ...new Set("
        f"[...document.querySelectorAll('{selector}')].map(one => getComputedStyle(one).{of})"
        f".filter(colour => colour !== 'none'))]"
    )
    paper, *inks = (_luminance(colour) for colour in found)
    return [(max(ink, paper) + 0.05) / (min(ink, paper) + 0.05) for ink in inks]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_and_lines_of_the_figures_stand_out_in_both_schemes(
    browser: Browser, pages: dict[str, Path], scheme: Literal["light", "dark"]
) -> None:
    # At least 4.5 for words and 3 for lines: WCAG 2.2, 1.4.3 and 1.4.11.
    with opened(browser, pages["demo"], scheme=scheme) as one:
        words = _contrasts(one.page, "figure text", "fill")
        lines = _contrasts(one.page, "figure path, figure use", "stroke")

        assert len(words) == len(lines) == 2  # of what is worth presenting, and of the rest
        assert min(words) >= 4.5
        assert min(lines) >= 3


def test_both_schemes_and_paper_have_colours_of_their_own(
    browser: Browser, pages: dict[str, Path]
) -> None:
    def colours(page: Page) -> list[str]:
        told: list[str] = page.evaluate(
            "[getComputedStyle(document.body).backgroundColor, ...['.fill-half', '.fill-paper',"
            "'.track rect', '.fits'].map(name => { const style = getComputedStyle("
            "document.querySelector(name)); return style.fill + style.backgroundColor })]"
        )
        return told

    with opened(browser, pages["demo"], scheme="dark") as one:
        dark = colours(one.page)
        one.page.emulate_media(media="print")
        paper = colours(one.page)
    with opened(browser, pages["demo"]) as one:
        light = colours(one.page)

    assert "rgb(255, 255, 255)" == paper[0]
    assert paper == light
    assert all(by_night != by_day for by_night, by_day in zip(dark, light, strict=True))


def test_the_style_is_applied_and_nothing_of_a_name_is_run(
    browser: Browser, pages: dict[str, Path]
) -> None:
    with opened(browser, pages["hostile"]) as one:
        border = "getComputedStyle(document.querySelector('.verdicts')).borderLeftWidth"
        assert "5px" == one.page.evaluate(border)  # the policy has let the style in
        assert 0 == one.page.evaluate("document.scripts.length")
        assert 0 == one.page.evaluate("document.querySelectorAll('[style]').length")
        assert HOSTILE in one.page.inner_text("h1")
        assert HOSTILE in one.page.title()


def test_every_box_that_scrolls_has_a_name_and_shows_by_its_edges_where_more_follows(
    browser: Browser, pages: dict[str, Path]
) -> None:
    with opened(browser, pages["demo"], 360) as one:
        boxes = one.page.get_by_role("group")
        assert 15 < one.page.locator(".wide").count() == boxes.count()
        assert all(box.get_attribute("tabindex") == "0" for box in boxes.all())
        table = one.page.get_by_role("group", name="Table: at a glance")

        assert (False, True) == edges_shaded(table)
        table.evaluate("box => { box.scrollLeft = 40 }")
        assert (True, True) == edges_shaded(table)
        table.evaluate("box => { box.scrollLeft = 9999 }")
        assert (True, False) == edges_shaded(table)
        narrow = one.page.get_by_role("group", name="The candidates compared").last
        assert (False, False) == edges_shaded(narrow)
    with opened(browser, pages["demo"], 360, "dark") as one:
        table = one.page.get_by_role("group", name="Table: at a glance")
        assert (False, True) == edges_shaded(table)


def test_a_table_that_is_too_wide_scrolls_in_itself_by_key(
    browser: Browser, pages: dict[str, Path]
) -> None:
    with opened(browser, pages["demo"], 360) as one:
        table = one.page.get_by_role("group", name="What each item says")
        table.focus()
        one.page.keyboard.press("ArrowRight")
        until(one.page, "document.activeElement.scrollLeft > 0")
        outline = table.evaluate("shown => getComputedStyle(shown).outlineStyle")

        assert "solid" == outline


def test_figures_keep_their_words_large_enough_to_be_read_on_a_phone(
    browser: Browser, pages: dict[str, Path]
) -> None:
    # Not below 9 pixels of CSS: common practice for the smallest words of a figure.
    with opened(browser, pages["demo"], 360) as one:
        scale = one.page.locator("figure svg").first.evaluate(
            "drawn => drawn.getBoundingClientRect().width / drawn.viewBox.baseVal.width"
        )

        assert 8 * scale >= 9  # they are 8 units high
