"""What the page hands on is taken by the program: marks and votes by weigh, choices by lint."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
import yaml
from browser import opened, started
from numbered_preview import preview_folder, sample_values
from typer.testing import CliRunner

from retime.cli.main import app

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

MAP = """\
format: retime-map/1
film: The Tidewatcher's Lamp
gauge: 35mm
reels:
  - {reel: REEL, scan: one.mkv, first: 0, last: 299, frames: 300}
shots:
  - {reel: REEL, first: 0, last: 119, shot: before}
  - {reel: REEL, first: 120, last: 167, shot: SHOT}
  - {reel: REEL, first: 168, last: 299, shot: after}
versions:
  plain:
    speed: 20 fps
"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as running:
        yield running


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return preview_folder(tmp_path_factory.mktemp("papers"), sample_values(delivered=[]))


def saved(page: Page, button: str, folder: Path) -> Path:
    with page.expect_download() as waited:
        page.click(button)
    path = folder / waited.value.suggested_filename
    waited.value.save_as(path)
    return path


def weighed(path: Path) -> Any:
    result = CliRunner().invoke(app, ["weigh", str(path), "--format", "json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def speed_of(item: Any) -> float:
    return float(Fraction(item["says"][0]["speed"]["value"]))


def mark(page: Page, *frames: int) -> None:
    page.keyboard.press("Home")
    at = 120
    for frame in frames:
        for _ in range(frame - at):
            page.keyboard.press("ArrowRight")
        page.keyboard.press("m")
        at = frame


def test_marks_become_a_file_that_weigh_takes(
    browser: Browser, address: Path, tmp_path: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        mark(page, 122, 133, 144, 155)
        assert page.locator("#marks-list li > span").all_inner_texts() == [
            "122",
            "133",
            "144",
            "155",
        ]
        page.click("[aria-label='Remove the mark on frame 155']")
        page.select_option("#marks-natural", "walk")
        path = saved(page, "#marks-save", tmp_path)

        assert path.read_text(encoding="utf-8") == page.input_value("#marks-text")
    told = yaml.safe_load(path.read_text(encoding="utf-8"))
    (item,) = told["evidence"]
    assert item["kind"] == "motion"
    assert item["marks"] == [122, 133, 144]
    assert "Reel 1, shot 4" in item["source"]
    assert told["length"] == "646 frames"
    # 11 frames a step at 109 steps a minute are 19.98 fps: Dall et al. 2013, as weigh cites it.
    (said,) = weighed(path)["items"]
    assert speed_of(said) == pytest.approx(11 * 109 / 60, rel=1e-3)


def test_marks_of_two_excerpts_are_two_items_and_a_frequency_may_be_told(
    browser: Browser, address: Path, tmp_path: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        mark(page, 122, 133, 144)
        page.keyboard.press("e")
        for _ in range(2):
            page.keyboard.press("m")
            for _ in range(9):
                page.keyboard.press("ArrowRight")
        page.keyboard.press("m")
        page.select_option("#marks-natural", "")
        assert not page.is_visible("#marks-paper")  # how often is not told yet
        page.fill("#marks-often", "120 /min")
        path = saved(page, "#marks-save", tmp_path)
    items = weighed(path)["items"]

    assert [one["kind"] for one in items] == ["motion", "motion"]
    assert [speed_of(one) for one in items] == pytest.approx(
        [22, 18], rel=1e-3
    )  # 11 and 9 frames, twice a second


def test_marks_in_a_transfer_count_film_frames_though_the_scans_numbers_leave_gaps(
    browser: Browser, tmp_path: Path
) -> None:
    """Of a transfer in which every fourth film frame was given twice."""
    values = sample_values(delivered=[])
    values["excerpts"][0]["numbers"] = [120 + k * 5 // 4 for k in range(48)]
    with opened(browser, preview_folder(tmp_path, values)) as found:
        page = found.page
        for _ in range(3):
            page.keyboard.press("m")
            for _ in range(8):
                page.keyboard.press("ArrowRight")
        shown = page.locator("#marks-list li > span").all_inner_texts()
        path = saved(page, "#marks-save", tmp_path)
    (item,) = yaml.safe_load(path.read_text(encoding="utf-8"))["evidence"]

    assert shown == ["120", "130", "140"]
    assert item["marks"] == [0, 8, 16]
    assert len(weighed(path)["items"]) == 1


def test_the_same_frame_is_marked_once(browser: Browser, address: Path) -> None:
    with opened(browser, address) as found:
        mark(found.page, 122, 122)
        assert found.page.locator("#marks-list li").count() == 1


def test_votes_become_a_file_that_weigh_takes(
    browser: Browser, address: Path, tmp_path: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#tab-blind")
        page.click("#blind-begin")
        for key in ("ArrowLeft", "ArrowRight", "ArrowDown", "ArrowLeft") * 5:
            page.keyboard.press(key)
        path = saved(page, "#blind-save", tmp_path)
    (item,) = weighed(path)["items"]

    assert item["kind"] == "viewing"
    assert item["question"] == "looking"


def with_lines(lines: str, reel: str = "1", shot: str = "4") -> str:
    """Return a map with lines below its versions, as somebody pastes them there."""
    head = MAP.replace("REEL", json.dumps(reel)).replace("SHOT", json.dumps(shot))
    return head + lines


def linted(folder: Path, text: str) -> str:
    """Return what lint says of a map that it refuses, "" where it takes it."""
    path = folder / "map.yaml"
    path.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(app, ["lint", str(path)])
    return result.output if result.exit_code not in {0, 1} else ""


def test_choices_become_lines_that_lint_takes(
    browser: Browser, address: Path, tmp_path: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.keyboard.press("1")
        page.click("#watch-choose button:nth-child(1)")
        page.keyboard.press("2")
        page.click("#watch-choose button:nth-child(2)")
        page.fill("#watch-typed", "240/11")
        page.press("#watch-typed", "Enter")
        page.click("#watch-choose button:nth-child(3)")
        page.click("#tab-hand")
        page.fill("#hand-name", "As Wenna saw it")
        path = saved(page, "#hand-save", tmp_path)
    lines = path.read_text(encoding="utf-8")

    assert yaml.safe_load(lines) == {
        "As Wenna saw it": {
            "speed": "16 fps",
            "reels": {1: "18 fps"},
            "shots": {"1/4": "240/11 fps"},
        }
    }
    assert linted(tmp_path, with_lines(lines)) == ""


def test_a_choice_for_a_shot_alone_still_makes_a_whole_version_and_says_so(
    browser: Browser, address: Path, tmp_path: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.keyboard.press("4")
        page.click("#watch-choose button:nth-child(3)")
        page.click("#tab-hand")

        assert "Nothing is chosen for the whole film yet" in page.inner_text("#hand-note")
        assert linted(tmp_path, with_lines(page.input_value("#hand-text"))) == ""


@pytest.mark.parametrize("name", ["", "a/b", "x" * 81])
def test_a_name_that_no_map_takes_is_refused(browser: Browser, address: Path, name: str) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#watch-choose button:nth-child(1)")
        page.click("#tab-hand")
        page.fill("#hand-name", name)

        assert page.inner_text("#hand-wrong") != ""
        assert page.is_disabled("#hand-save")


HOSTILE = [
    "yes", "null", "~", "4: 5", "{4}", "- 4", "#4", "'4", '"4"', "4 -> 5", "\u202e4", "4\u00a0b",
    "é4 ", "@4", "*4", "&4", "!4", "%4", "0x4", "1e3", "14A",
]  # fmt: skip


def test_reels_and_shots_of_any_letters_are_quoted_as_they_have_to_be(
    browser: Browser, tmp_path: Path
) -> None:
    names = [name.strip() for name in HOSTILE]
    values = sample_values(delivered=[])
    values["excerpts"] = [
        {**values["excerpts"][0], "reel": name, "shot": name[::-1]} for name in names
    ]
    with opened(browser, preview_folder(tmp_path, values)) as found:
        page = found.page
        for at in range(len(names)):
            page.select_option("#excerpt", str(at))
            for part in (1, 2, 3):
                page.click(f"#watch-choose button:nth-child({part})")
        page.click("#tab-hand")
        lines = page.input_value("#hand-text")
    chosen = yaml.safe_load(lines)["by-eye"]
    quoted = [json.dumps(name) for name in names]
    reels = [
        f"  - {{reel: {name}, scan: {at}.mkv, last: 99, frames: 100}}"
        for at, name in enumerate(quoted)
    ]
    shots = [
        f"  - {{reel: {json.dumps(name)}, first: 0, last: 99, shot: {json.dumps(name[::-1])}}}"
        for name in names
    ]
    head = ["format: retime-map/1", "film: Lamp", "gauge: 35mm"]
    text = "\n".join([*head, "reels:", *reels, "shots:", *shots, "versions:", lines])

    assert set(map(str, chosen["shots"])) == {f"{name}/{name[::-1]}" for name in names}
    assert linted(tmp_path, text) == "", lines


def test_names_of_any_letters_are_quoted_as_they_have_to_be(
    browser: Browser, address: Path, tmp_path: Path
) -> None:
    with opened(browser, address) as found:
        page = found.page
        page.click("#watch-choose button:nth-child(1)")
        page.click("#tab-hand")
        lines = []
        for name in HOSTILE:
            page.fill("#hand-name", name)
            lines.append(page.input_value("#hand-text"))

    assert linted(tmp_path, with_lines("".join(lines))) == ""
