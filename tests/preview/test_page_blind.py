"""The blind comparison hides which speed is where, is fair, and tells what the votes come to."""

from __future__ import annotations

import json
import re
from collections import Counter
from math import sqrt
from typing import TYPE_CHECKING

import pytest
from browser import opened, sampled, speed_of, started, unfolded
from numbered_preview import preview_folder, sample_values
from pages_seen import until

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

CANVASES = ("#blind-picture-left", "#blind-picture-right")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as running:
        yield running


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return preview_folder(tmp_path_factory.mktemp("blind"), sample_values(delivered=[]))


KNOWN_CHANCE = """
(seed) => {
  crypto.getRandomValues = (words) => {
    words.fill(0);
    words[words.length - 1] = seed;
    return words;
  };
}
"""


def begin(page: Page, seed: int, *speeds: str, rounds: int = 1) -> list[list[str]]:
    """Begin a comparison whose chance is known, and return the order that it gives."""
    page.evaluate(KNOWN_CHANCE, seed)
    page.click("#tab-blind")
    for box in page.locator("#blind-speeds input").all():
        box.set_checked(box.input_value() in speeds)
    page.fill("#blind-rounds", str(rounds))
    page.click("#blind-begin")
    order: list[list[str]] = page.evaluate(f"pairs.order({json.dumps(speeds)}, {rounds}, {seed}n)")
    return order


def test_nothing_in_the_page_but_pixels_tells_which_pair_is_on_screen(
    browser: Browser, address: Path
) -> None:
    pages: dict[tuple[str, ...], set[str]] = {}
    with opened(browser, address) as found:
        page = found.page
        until(page, "document.querySelector('#watch-screen').textContent.includes(':')")
        for seed in range(8):
            order = begin(page, seed, "16", "20", "24")
            page.wait_for_timeout(200)
            pages.setdefault(tuple(order[0]), set()).add(page.evaluate(WHOLE))
            page.click("#blind-end")

    assert len(pages) > 2
    assert len(set.union(*pages.values())) == 1


WHOLE = "document.documentElement.outerHTML + document.title + location.href"


def test_no_speed_and_no_runtime_is_to_be_seen_or_heard_while_votes_are_taken(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#watch-choose button:nth-child(1)")  # which says a speed for a while
        begin(page, 3, "16", "18", "22", "24", rounds=2)
        for key in ("ArrowLeft", "ArrowRight", "ArrowDown"):
            told = page.evaluate(ALL_THAT_IS_TOLD)
            page.keyboard.press(key)

            for speed in ("16", "18", "22", "24", "fps", "0:40.4", "0:35.9", "0:29.4", "0:26.9"):
                alone = re.compile(rf"(?<![0-9.]){re.escape(speed)}(?![0-9])")
                assert [one for one in told if alone.search(one)] == []
            assert any("Pair" in one for one in told)


ALL_THAT_IS_TOLD = """
() => {
  const told = [document.title, location.href.replace(/.*[/]/, "")];
  const walk = (element) => {
    if (element.matches("script, style, head, select") || !element.checkVisibility()) return;
    for (const each of element.attributes) told.push(`${each.name}=${each.value}`);
    for (const each of element.childNodes) {
      if (each.nodeType === Node.TEXT_NODE) told.push(each.data);
      if (each.nodeType === Node.ELEMENT_NODE) walk(each);
    }
  };
  walk(document.documentElement.querySelector("body"));
  return told;
}
"""


def test_the_pictures_run_at_the_speeds_that_the_order_says_from_one_beginning(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        order = begin(page, 5, "16", "24")
        page.wait_for_timeout(200)
        page.evaluate("setTimeout(() => document.querySelector('#blind-again').click(), 60)")
        rows = sampled(page, 3, *CANVASES)[12:]
        for column, speed in enumerate(order[0]):
            played = speed_of(rows[:, 0] / 1000, unfolded(rows[:, 1 + column], 48))

            assert played == pytest.approx(float(speed), rel=0.01)


def test_the_order_is_uniform_over_many_seeds(browser: Browser, address: Path) -> None:
    script = """
    (count) => Array.from({ length: count }, (_, seed) => {
      const [[left, right]] = pairs.order(["a", "b", "c"], 1, seed);
      return left + right;
    })
    """
    with opened(browser, address) as found:
        firsts = Counter(found.page.evaluate(script, 6000))

    # Each of the 6 ordered pairs comes first 1000 times of 6000, give or take 5 deviations.
    assert len(firsts) == 6
    for count in firsts.values():
        assert abs(count - 1000) < 5 * sqrt(6000 / 6 * 5 / 6)


def test_the_page_takes_its_seed_from_the_browsers_own_chance(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.evaluate(
            "() => { const real = crypto.getRandomValues.bind(crypto); window.given = 0;"
            "crypto.getRandomValues = (words) => { window.given += 1; return real(words); }; }"
        )
        page.click("#tab-blind")
        page.click("#blind-begin")

        assert page.evaluate("window.given") == 1


@pytest.mark.parametrize("rounds", [1, 3])
def test_votes_come_to_what_they_were_cast_for(
    browser: Browser, address: Path, rounds: int
) -> None:
    """A viewer who always finds the slower one natural, and cannot tell 20 from 24."""
    with opened(browser, address) as found:
        page = found.page
        order = begin(page, 11, "16", "20", "24", rounds=rounds)
        for left, right in order:
            if "16" in (left, right):
                page.click("#blind-left" if left == "16" else "#blind-right")
            else:
                page.keyboard.press("ArrowDown")

        assert page.is_visible("#blind-result")
        rows = page.locator("#blind-rows tr").all_inner_texts()
        strengths = [float(row.split("\t")[1].replace("\N{MINUS SIGN}", "-")) for row in rows]
        assert [row.split("\t")[0] for row in rows] == ["16 fps", "20 fps", "24 fps"]
        assert strengths[0] > strengths[1]
        assert strengths[1] == strengths[2]
        assert f"{3 * rounds} votes, of which {rounds} could not tell" in page.inner_text(
            "#blind-judged"
        )
        assert page.locator("#blind-scale svg circle").count() == 3


def test_another_round_adds_its_votes_and_an_early_end_keeps_those_given(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        begin(page, 2, "16", "20", "24")
        for _ in range(3):
            page.click("#blind-left")
        page.click("#blind-more")
        assert page.inner_text("#blind-progress") == "Pair 4 of 6"
        page.click("#blind-right")
        page.click("#blind-end")

        assert page.inner_text("#blind-judged").startswith("4 votes")


def test_the_excerpt_stays_as_it_is_while_votes_are_taken(browser: Browser, address: Path) -> None:
    with opened(browser, address) as found:
        page = found.page
        begin(page, 2, "16", "20")
        assert page.is_disabled("#excerpt")
        page.click("#blind-end")
        assert page.is_enabled("#excerpt")
        assert page.is_visible("#blind-setup")  # nothing was voted


def test_too_few_speeds_are_refused(browser: Browser, address: Path) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-blind")
        for box in page.locator("#blind-speeds input").all()[1:]:
            box.uncheck()

        assert page.is_disabled("#blind-begin")
        assert "two speeds" in page.inner_text("#blind-wrong")


def test_the_screens_own_cadence_is_told_and_warned_of_before_and_in_the_item(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-blind")
        until(page, "document.querySelector('#blind-rate').textContent.includes('times a second')")
        page.evaluate("blind.measured({ hz: 60, steady: 1 })")
        assert "20 fps runs evenly, and 16, 18, 22 and 24 fps judder" in page.inner_text(
            "#blind-warning"
        )
        begin(page, 4, "20", "22")
        page.keyboard.press("ArrowLeft")

        item = page.input_value("#blind-text")
        assert 'screen: "60.00 Hz"' in item
        assert "20 fps 3:3 even" in item
        assert "22 fps 3:3:3:2:3:3:3:2:3:3:2 uneven" in item
        assert "An even one may win for its smoothness alone" in page.inner_text("#blind-doubt")


def test_a_key_held_down_or_a_double_click_is_one_vote(browser: Browser, address: Path) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-blind")
        begin(page, 4, "16", "20", "24")
        for _ in range(3):
            page.keyboard.down("ArrowLeft")
        page.keyboard.up("ArrowLeft")
        assert "Pair 2 of 3" == page.inner_text("#blind-progress")
        page.dblclick("#blind-right")
        assert "Pair 3 of 3" == page.inner_text("#blind-progress")


def test_where_nothing_plays_by_itself_a_pair_is_played_before_it_is_voted_on(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address, reduced_motion="reduce") as found:
        page = found.page
        page.click("#tab-blind")
        begin(page, 4, "16", "20")
        page.keyboard.press("ArrowLeft")
        assert "Pair 1 of 1" == page.inner_text("#blind-progress")
        page.keyboard.press("a")
        page.keyboard.press("ArrowLeft")
        until(page, "!document.querySelector('#blind-result').hidden")
