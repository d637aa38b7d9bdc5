"""What the page plays, read back from its canvases and timed by the browser's own refreshes."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest
from browser import opened, sampled, shown_numbers, speed_of, started, unfolded
from numbered_preview import preview_folder, sample_values
from pages_seen import until

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

FRAMES = 48
PICTURE = "#watch-picture"
SPEEDS = {
    **{str(speed): Fraction(speed) for speed in (12, 16, 18, 20, 24, 30)},
    "240/11": Fraction(240, 11),
    "105 ft/min": Fraction(105 * 16, 60),
}


SETTLED = """
() => new Promise((resolve) => {
  const busy = () => excerpt.roll().coming.size > 0;
  const wait = () => (busy() ? setTimeout(wait, 5) : requestAnimationFrame(resolve));
  wait();
})
"""
"""Until every picture that was asked for is there, and drawn."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as running:
        yield running


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return preview_folder(tmp_path_factory.mktemp("playing"), sample_values(delivered=[]))


def type_speed(page: Page, text: str) -> None:
    page.fill("#watch-typed", text)
    page.press("#watch-typed", "Enter")
    page.evaluate("document.activeElement.blur()")


def test_a_speed_is_played_within_1_percent_by_the_browsers_own_refreshes(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#watch-play")
        for said, speed in SPEEDS.items():
            type_speed(page, said)
            page.wait_for_timeout(60)
            rows = sampled(page, 2.5, PICTURE)
            played = speed_of(rows[:, 0] / 1000, unfolded(rows[:, 1], FRAMES))

            assert played == pytest.approx(float(speed), rel=0.01)


def test_a_change_of_speed_keeps_the_place(browser: Browser, address: Path) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#watch-play")
        page.wait_for_timeout(700)
        for speed in ("12", "24", "16"):
            left, before = sampled(page, 0.05, PICTURE)[-1]
            type_speed(page, speed)
            came, after = sampled(page, 0, PICTURE)[0]
            # By the page's own clock, for a busy machine types slowly; no speed here is above 24.
            due = (came - left) / 1000 * 24

            assert (after - before) % FRAMES <= due + 1


def test_panes_side_by_side_stay_within_a_film_frame_for_30_s(
    browser: Browser, address: Path
) -> None:
    speeds = (16, 18, 20, 24)
    panes = [f"#side-panes .pane:nth-child({at + 1}) canvas" for at in range(len(speeds))]
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-side")
        page.click("#side-count button:last-child")
        for at, speed in enumerate(speeds):
            page.fill(f"#side-speed-{at}", str(speed))
            page.press(f"#side-speed-{at}", "Tab")
        page.evaluate("setTimeout(() => document.querySelector('#side-play').click(), 100)")
        rows = sampled(page, 30.5, *panes)
        seconds = rows[:, 0] / 1000
        runs = [unfolded(rows[:, 1 + at], FRAMES) for at in range(len(speeds))]
        # The first change of the fastest pane says when all began: its frame 1 follows after 1/24.
        began = seconds[np.argmax(runs[-1] > 0)] - 1 / speeds[-1]

        assert runs[-1][-1] > 29 * speeds[-1]
        for run, speed in zip(runs, speeds, strict=True):
            due = np.maximum(seconds - began, 0) * speed

            assert np.abs(run - np.floor(due)).max() <= 1


def test_panes_locked_to_one_film_frame_show_the_same_number_in_every_refresh(
    browser: Browser, address: Path
) -> None:
    panes = [f"#side-panes .pane:nth-child({at}) canvas" for at in (1, 2, 3)]
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-side")
        page.click("#side-count button:nth-child(2)")
        page.check("#side-locked")
        page.select_option("#side-leader", "2")
        page.click("#side-play")
        page.wait_for_timeout(300)
        rows = sampled(page, 3, *panes)

        assert len(set(rows[:, 1])) > 20
        assert (rows[:, 1] == rows[:, 2]).all()
        assert (rows[:, 1] == rows[:, 3]).all()
        # It is led by the third pane, and so runs at its speed, which is 20.
        played = speed_of(rows[:, 0] / 1000, unfolded(rows[:, 1], FRAMES))
        assert played == pytest.approx(20, rel=0.01)

        page.keyboard.press(" ")
        for key in ("ArrowRight", "ArrowRight", "ArrowLeft"):
            before = shown_numbers(page, *panes)
            page.keyboard.press(key)
            page.evaluate(SETTLED)
            after = shown_numbers(page, *panes)
            by = 1 if key == "ArrowRight" else -1
            assert after == [(before[0] + by) % FRAMES] * 3


@pytest.mark.parametrize(("key", "by"), [("ArrowRight", 1), ("ArrowLeft", -1)])
def test_stepping_shows_every_film_frame_once_and_comes_round(
    browser: Browser, address: Path, key: str, by: int
) -> None:
    with opened(browser, address) as found:
        page = found.page
        until(page, "document.querySelector('#watch-screen').textContent.includes(':')")
        seen = []
        for _ in range(FRAMES):
            page.keyboard.press(key)
            page.evaluate(SETTLED)
            seen.append(shown_numbers(page, PICTURE)[0])

        assert seen == [(by * at) % FRAMES for at in range(1, FRAMES + 1)]


def test_without_the_loop_the_last_film_frame_is_the_end(browser: Browser, address: Path) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.keyboard.press("l")
        page.keyboard.press("End")
        for _ in range(8):
            page.keyboard.press("ArrowLeft")
        page.keyboard.press(" ")
        until(page, "document.querySelector('#watch-play').textContent === 'Play'")

        assert shown_numbers(page, PICTURE) == [FRAMES - 1]
        assert page.inner_text("#watch-frame") == str(120 + FRAMES - 1)

        page.keyboard.press(" ")  # once more, from the first
        until(page, f"document.querySelector('#watch-frame').textContent !== '{120 + FRAMES - 1}'")

        assert shown_numbers(page, PICTURE)[0] < FRAMES // 2


def test_a_picture_that_is_not_there_in_time_is_told_and_the_others_play_on(
    browser: Browser, tmp_path: Path
) -> None:
    values = sample_values(delivered=[])
    values["excerpts"][0]["frames"] = 20
    address = preview_folder(tmp_path, values)
    (tmp_path / "pictures" / "e1" / "00014.jpg").write_bytes(b"no picture")
    with opened(browser, address) as found:
        page = found.page
        page.click("#watch-play")
        type_speed(page, "12")
        rows = sampled(page, 4, PICTURE)  # twice round, for a busy machine may miss one

        assert set(rows[:, 1]) == set(range(20)) - {14}
        assert "came late" in page.inner_text("#watch-account")
        assert "1 picture cannot be read" in page.inner_text("#watch-account")


def test_nothing_plays_by_itself_where_motion_is_to_be_reduced(
    browser: Browser, address: Path
) -> None:
    canvases = ["#blind-picture-left", "#blind-picture-right"]
    with opened(browser, address, reduced_motion="reduce") as found:
        page = found.page
        page.click("#tab-blind")
        page.click("#blind-begin")
        page.wait_for_timeout(300)
        rows = sampled(page, 0.5, *canvases)
        assert len(set(rows[:, 1])) == 1
        assert len(set(rows[:, 2])) == 1

        page.click("#blind-again")
        rows = sampled(page, 2, *canvases)
        assert len(set(rows[:, 1])) > 3
