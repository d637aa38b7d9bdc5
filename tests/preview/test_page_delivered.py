"""As delivered: which film frame is on screen, by the really rendered movie and beside it."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

import pytest
from browser import opened, started
from numbered_preview import preview_folder, read_number, sample_values
from pages_seen import until
from PIL import Image

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

FIRST = 120


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as running:
        yield running


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return preview_folder(tmp_path_factory.mktemp("delivered"), sample_values())


def film_frame(output: int) -> int:
    """Return the film frame that 20 fps show at 24, by the definition of repeating."""
    return output * 20 // 24


def on_screen(page: Page, expected: int) -> int:
    """Return the output frame that the screen shows, whatever the page says.

    A frame that was sought may come to the screen a little after the page knows of it: what shows
    something else than is ``expected`` is looked at again, for two seconds.
    """
    for _ in range(20):
        found = read_number(Image.open(BytesIO(page.locator("#made-video").screenshot())))
        if found == expected:
            break
        page.wait_for_timeout(100)
    return found


def settled(page: Page, output: int) -> None:
    until(
        page,
        f"document.querySelector('#made-now').textContent.startsWith('Output frame {output + 1} ')",
    )
    until(page, "!document.querySelector('#made-video').seeking")
    page.wait_for_timeout(60)


def test_stepping_tells_the_output_frame_on_screen_and_its_film_frame(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-delivered")
        until(page, "document.querySelector('#made-video').readyState > 2")
        for output in range(1, 14):
            page.keyboard.press("ArrowRight") if output % 2 else page.click("#made-on")
            settled(page, output)
            told = page.inner_text("#made-now")
            nth = sum(film_frame(one) == film_frame(output) for one in range(output + 1))

            assert on_screen(page, output) == output
            assert f"film frame {FIRST + film_frame(output)}," in told
            assert (f"showing {nth} of 2" in told) == (film_frame(output) % 5 == 0)


def test_steps_in_quick_succession_are_all_taken(browser: Browser, address: Path) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-delivered")
        until(page, "document.querySelector('#made-video').readyState > 2")
        for _ in range(25):
            page.keyboard.press("ArrowRight")
        settled(page, 25)

        assert on_screen(page, 25) == 25


def test_the_strip_marks_repeats_by_their_shape_and_the_frame_on_screen(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-delivered")
        shapes = page.evaluate(
            "[...document.querySelectorAll('#made-strip g g')].map("
            "(one) => one.querySelector('circle.again') ? 'disc' : "
            "one.querySelector('rect.cell') ? 'square' : 'none')"
        )
        repeated = [at > 0 and film_frame(at) == film_frame(at - 1) for at in range(len(shapes))]

        assert len(shapes) == 48 * 24 // 20
        assert [shape == "disc" for shape in shapes] == repeated
        page.click("#made-strip g g:nth-of-type(7)")
        settled(page, 6)
        assert on_screen(page, 6) == 6
        here = page.locator("#made-strip g g").evaluate_all(
            "(all) => all.findIndex((one) => one.matches('.here'))"
        )
        assert here == 6


def test_while_it_plays_the_strip_follows_the_frames_that_are_presented(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-delivered")
        until(page, "document.querySelector('#made-video').readyState > 2")
        page.evaluate(PRESENTED)
        page.click("#made-play")
        until(page, "window.presented.length > 20")
        page.click("#made-play")
        page.wait_for_timeout(200)
        rows = page.evaluate("window.presented")

        assert len(rows) > 10
        for time, told in rows:
            assert told.startswith(f"Output frame {round(time * 24) + 1} of")


def test_a_browser_that_tells_no_presented_frames_is_followed_by_the_movies_time(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.add_init_script("delete HTMLVideoElement.prototype.requestVideoFrameCallback")
        page.reload()
        page.click("#tab-delivered")
        page.click("#made-play")
        until(page, "parseInt(document.querySelector('#made-now').textContent.split(' ')[2]) >= 12")
        page.click("#made-play")
        page.click("#made-first")
        page.keyboard.press("ArrowRight")
        settled(page, 1)

        assert on_screen(page, 1) == 1
        assert found.told == []


PRESENTED = """
() => {
  window.presented = [];
  const movie = document.querySelector("#made-video");
  const each = (_, { mediaTime }) => {
    presented.push([mediaTime, document.querySelector("#made-now").textContent]);
    movie.requestVideoFrameCallback(each);
  };
  movie.requestVideoFrameCallback(each);
}
"""


def test_blended_frames_are_told_with_their_weights(browser: Browser, address: Path) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-delivered")
        page.select_option("#made-method", "blend")
        until(page, "document.querySelector('#made-video').readyState > 1")
        page.click("#made-on")
        settled(page, 1)

        assert "a mix of 50 % of film frame 120 and 50 % of film frame 121" in page.inner_text(
            "#made-now"
        )
        assert page.is_visible("#made-legend-mixed")
        assert page.locator("#made-strip g g:nth-of-type(2) rect.cell").count() == 2


def test_the_cadence_is_told_in_words(browser: Browser, address: Path) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-delivered")

        assert "20 fps at 24 fps: frames repeated. The cadence is 1:1:1:1:2" in page.inner_text(
            "#made-cadence"
        )


def test_only_what_was_rendered_can_be_chosen(browser: Browser, address: Path) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-delivered")
        page.select_option("#made-rate", "30")

        assert page.locator("#made-method option").all_inner_texts() == ["frames repeated"]
        page.select_option("#excerpt", "1")
        assert page.is_visible("#made-none")
        assert not page.is_visible("#made-some")
