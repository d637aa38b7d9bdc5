"""The page of a report in a real Chromium, opened from the disk."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import pytest
from edges_seen import edges_shaded, unshaded
from odd_editions import hostile, plain
from pages_seen import accessibility, opened, until

from retime.edition.join import join
from retime.report.edition_page import edition_page

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytest_plugins = ["in_chromium"]

DEMO = Path(__file__).parents[2] / "demo_media" / "tidewatcher.yaml"
WIDTHS = (360, 1280, 3840)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Return the pages as files, by name."""
    folder = tmp_path_factory.mktemp("pages")
    found = {
        "demo": join(DEMO),
        "plain": plain(folder),
        "hostile": hostile(folder),
        "short": plain(folder, "slow-50i", "mixed", "dropping"),
    }
    files = {}
    for name, edition in found.items():
        files[name] = folder / f"{name}.html"
        files[name].write_text(edition_page(edition), encoding="utf-8")
    return files


@pytest.mark.parametrize("name", ["demo", "plain", "hostile"])
@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_asks_for_nothing_says_nothing_and_never_scrolls_sideways(
    browser: Browser, pages: dict[str, Path], name: str, width: int
) -> None:
    with opened(browser, pages[name], width) as one:
        wide = one.page.evaluate("document.documentElement.scrollWidth")

        assert [] == one.said
        assert [pages[name].as_uri()] == one.asked
        assert width == wide


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (360, "dark")])
def test_an_automatic_check_of_accessibility_finds_nothing_serious(
    browser: Browser, pages: dict[str, Path], width: int, scheme: Literal["light", "dark"]
) -> None:
    with opened(browser, pages["short"], width, scheme) as one:
        unshaded(one.page)
        serious, met = accessibility(one.page)

        assert [] == serious
        assert "color-contrast" in met


def test_both_schemes_and_paper_have_colours_of_their_own(
    browser: Browser, pages: dict[str, Path]
) -> None:
    colour = "getComputedStyle(document.body).backgroundColor"
    with opened(browser, pages["plain"], scheme="dark") as one:
        dark = one.page.evaluate(colour)
        one.page.emulate_media(media="print")
        paper = one.page.evaluate(colour)
    with opened(browser, pages["plain"]) as one:
        light = one.page.evaluate(colour)

    assert paper == light == "rgb(255, 255, 255)"
    assert dark != light


def test_the_style_is_applied_and_nothing_of_a_name_is_run(
    browser: Browser, pages: dict[str, Path]
) -> None:
    with opened(browser, pages["hostile"]) as one:
        # Squares and rounds are told apart by shape: the policy has let the style in.
        round_ = "getComputedStyle(document.querySelector('.again')).borderRadius"
        square = "getComputedStyle(document.querySelector('.face:not(.again)')).borderRadius"
        assert "0px" == one.page.evaluate(square) != one.page.evaluate(round_)
        assert 0 == one.page.evaluate("document.scripts.length")
        assert "<script>alert(1)" in one.page.inner_text("h1")
        assert "<script>alert(1)" in one.page.title()


def test_a_table_that_is_too_wide_scrolls_in_itself_by_key(
    browser: Browser, pages: dict[str, Path]
) -> None:
    with opened(browser, pages["plain"], 360) as one:
        table = one.page.locator(".wide").nth(1)
        table.focus()
        one.page.keyboard.press("ArrowRight")
        until(one.page, "document.querySelectorAll('.wide')[1].scrollLeft > 0")
        outline = table.evaluate("shown => getComputedStyle(shown).outlineStyle")

        assert "solid" == outline


def test_points_of_the_drift_plot_are_seen_on_the_screen(
    browser: Browser, pages: dict[str, Path]
) -> None:
    # A line of no length is seen only by its round ends: SVG 2, 13.5.4 Line caps.
    with opened(browser, pages["plain"]) as one:
        path = one.page.locator("path.drift").first
        caps = path.evaluate("drawn => getComputedStyle(drawn).strokeLinecap")
        box = path.bounding_box()

        assert "round" == caps
        assert box is not None
        assert box["width"] > 600
        assert box["height"] > 20


def test_a_table_that_goes_on_beyond_the_edge_says_so_by_a_shade(
    browser: Browser, pages: dict[str, Path]
) -> None:
    with opened(browser, pages["demo"], 360) as one:
        table = one.page.get_by_role("group", name="Table: deliverables side by side")

        assert (False, True) == edges_shaded(table)
        table.evaluate("box => { box.scrollLeft = 9999 }")
        assert (True, False) == edges_shaded(table)
    with opened(browser, pages["demo"], 3840) as one:
        whole = one.page.get_by_role("group", name="Table: versions side by side")
        assert (False, False) == edges_shaded(whole)


def test_versions_are_told_whole_on_a_phone_each_figure_with_its_head(
    browser: Browser, pages: dict[str, Path]
) -> None:
    with opened(browser, pages["demo"], 360) as one:
        box = one.page.get_by_role("group", name="Table: versions side by side")
        rows = box.get_by_role("row")
        heads = [head.inner_text() for head in box.get_by_role("columnheader").all()]

        assert ["Version", "Film frames", "True runtime"] == [heads[at] for at in (0, 2, 3)]
        assert box.evaluate("shown => shown.scrollWidth === shown.clientWidth")
        assert 1 + 3 == rows.count()
        for row in rows.all()[1:]:
            for cell in row.get_by_role("cell").all():
                place = cell.bounding_box()
                if not cell.inner_text():  # nothing is told beside the first version
                    continue
                assert place is not None
                assert 0 <= place["x"] < place["x"] + place["width"] <= 360
                head = cell.evaluate("shown => getComputedStyle(shown, '::before').content")
                assert head.strip('"') in heads
