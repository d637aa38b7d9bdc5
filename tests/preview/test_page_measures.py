"""The page's arithmetic, held against exact fractions and against the program's own notation."""

from __future__ import annotations

from fractions import Fraction
from math import floor
from typing import TYPE_CHECKING

import pytest
from browser import opened, started
from numbered_preview import preview_folder, sample_values

from retime.film.length import feet_and_frames
from retime.film.notation import parse_speed
from retime.film.speed import Speed

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

SPEEDS = ("16", "18", "20", "22", "24", "240/11", "2997/125", "55/3", "24000/1001")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as running:
        yield running


@pytest.fixture(scope="module")
def page(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    address = preview_folder(tmp_path_factory.mktemp("measures"), sample_values(delivered=[]))
    with opened(browser, address) as found:
        yield found.page


def test_the_film_frame_that_is_due_is_the_floor_of_time_times_speed(page: Page) -> None:
    """At every thousandth that is a beginning of a frame, and a hair before it."""
    script = "([said, times]) => times.map((ms) => clock.framesIn(ms, fractions.read(said)))"
    for said in SPEEDS:
        speed = Fraction(said)
        starts = [Fraction(1000 * k) / speed for k in (0, 1, 2, 7, 100, 12345, 1_000_000)]
        found = page.evaluate(script, [said, [float(one) for one in starts]])
        before = page.evaluate(script, [said, [float(one) - 0.01 for one in starts[1:]]])

        assert found == [floor(one * speed / 1000) for one in starts]
        assert before == [floor((one - Fraction(1, 100)) * speed / 1000) for one in starts[1:]]


@pytest.mark.parametrize("hz", [50, 60, 75, 120, 144])
def test_the_second_cadence_is_how_many_refreshes_show_each_film_frame(page: Page, hz: int) -> None:
    """By the definition: refresh n shows film frame floor(n * speed / hz)."""
    for said in SPEEDS[:6]:
        step = Fraction(said) / hz
        shown = [floor(n * step) for n in range(step.denominator)]
        by_definition = [shown.count(k) for k in range(step.numerator)]
        runs = page.evaluate("([said, hz]) => refresh.runs(fractions.read(said), hz)", [said, hz])

        assert runs == by_definition


def test_20_on_60_hz_is_an_even_3_and_22_and_25_are_not(page: Page) -> None:
    script = "(fps) => refresh.cadence(fractions.make(fps), 59.94)"

    assert page.evaluate(script, 20)["told"] == "3:3, even"
    assert not page.evaluate(script, 22)["even"]
    assert page.evaluate(script, 25)["told"].startswith("3:2:3:2:2, uneven")


def test_the_rate_of_a_screen_is_not_moved_by_late_refreshes(page: Page) -> None:
    times: list[float] = [0]
    for n in range(1, 80):
        times.append(times[-1] + (1000 / 60) * (3 if n % 9 == 0 else 1) + 0.05 * (n % 3 - 1))
    found = page.evaluate("(times) => refresh.rateOf(times)", times)

    assert found["hz"] == pytest.approx(60, rel=2e-3)
    assert found["steady"] == pytest.approx(8 / 9, abs=0.02)


def test_a_warning_is_given_where_some_speeds_are_even_and_others_are_not(page: Page) -> None:
    script = "([all, hz]) => refresh.warning(all.map((one) => fractions.make(one)), hz)"

    assert "20 fps runs evenly, and 22 fps judders" in page.evaluate(script, [[20, 22], 60])
    assert page.evaluate(script, [[15, 20, 30], 60]) == ""
    assert page.evaluate(script, [[16, 20, 24], 240]) == ""  # 15, 12 and 10 refreshes each
    assert page.evaluate(script, [[18, 22], 60]).startswith("None of these speeds goes evenly")


@pytest.mark.parametrize(
    "said", ["20", "18.5 fps", "240/11", "75 ft/min", "81.25ft/min", "7/3 fps"]
)
def test_a_speed_is_read_as_the_program_reads_it(page: Page, said: str) -> None:
    found = page.evaluate("(said) => fractions.typed(said).speed", said)
    theirs = parse_speed(said).on(Fraction(16), None)

    assert Speed(Fraction(found["num"], found["den"])) == theirs


@pytest.mark.parametrize(
    ("num", "den"), [(20, 1), (37, 2), (240, 11), (24000, 1001), (1, 3), (55, 3)]
)
def test_a_speed_is_written_so_that_the_program_reads_it_exactly(
    page: Page, num: int, den: int
) -> None:
    written = page.evaluate("([a, b]) => fractions.exact(fractions.make(a, b))", [num, den])

    assert parse_speed(f"{written} fps").on(None, None) == Speed(Fraction(num, den))


@pytest.mark.parametrize("per_foot", ["16", "1524/95"])
def test_feet_and_frames_are_those_of_the_program(
    browser: Browser, tmp_path: Path, per_foot: str
) -> None:
    """Of 16 frames to the foot, and of a pitch of 19.000 mm."""
    frames = [0, 1, 15, 16, 17, 159, 160, 2183, 93440]
    values = sample_values(delivered=[], frames_per_foot=per_foot)
    with opened(browser, preview_folder(tmp_path, values)) as found:
        told = found.page.evaluate("(all) => all.map((one) => notation.feet(one))", frames)

    assert told == [feet_and_frames(one, Fraction(per_foot)) for one in frames]


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (0, "0:00.0"),
        (59.96, "1:00.0"),
        (32.3, "0:32.3"),
        (3599.97, "1:00:00.0"),
        (5832.5, "1:37:12.5"),
    ],
)
def test_times_are_rounded_once(page: Page, seconds: float, told: str) -> None:
    assert page.evaluate("(seconds) => notation.time(seconds)", seconds) == told
