"""The page harms nobody: hostile texts stay texts, and nothing is asked for elsewhere."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from browser import opened, started
from numbered_preview import preview_folder, sample_values
from pages_seen import until

from retime.preview.page import preview_page

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

TABS = ("watch", "side", "delivered", "blind", "hand")
SCRIPT = "<script>window.harmed = 1</script>"
HOSTILE = {
    "script": f"</script>{SCRIPT}<img src=x onerror='window.harmed=1'>",
    "quotes": '"\'><b onmouseover="window.harmed=1">\\" ${window.harmed=1} {{ 7 * 7 }}',
    "right to left": "שלום \u202egnihctaw\u202c \u2067<i>\u2069",
    "long": "Lantern " * 250,
    "one word": "x" * 2000,
    "newline": "first\nsecond\r\n\u2028third\x0b",
    "half a character": "film \udcff name",
    "comment": "<!-- <script> ]]> --!>",
}


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with started() as running:
        yield running


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return preview_folder(tmp_path_factory.mktemp("safe"), sample_values())


def look_everywhere(page: Page) -> None:
    """Use each way of looking once."""
    page.keyboard.press(" ")
    page.click("#marks-put")
    page.keyboard.press("ArrowRight")
    page.click("#marks-put")
    for at in (1, 2, 3):
        page.click(f"#watch-choose button:nth-child({at})")
    for tab in TABS[1:]:
        page.click(f"#tab-{tab}")
        if tab == "side":
            page.keyboard.press(" ")
        if tab == "blind":
            page.click("#blind-begin")
            page.keyboard.press("ArrowLeft")
            page.click("#blind-end")
        page.wait_for_timeout(100)


def hostile_values() -> dict[str, Any]:
    """Return values all of whose names and texts are hostile, an excerpt and a version of each."""
    values = sample_values()
    texts = list(HOSTILE.values())
    excerpt, delivered = values["excerpts"][0], values["delivered"][0]
    return {
        **values,
        "film": " ".join(texts),
        "source": texts[0],
        "versions": [
            {"name": text, "speed": "20", "said": text, "runtime": "32"} for text in texts
        ],
        "excerpts": [
            {
                **excerpt,
                **dict.fromkeys(("title", "name", "shot", "reel", "why"), text),
                "key": f"e{at}",
                "speeds": {text: "20", "ramp": {"from": "16", "to": "22"}},
            }
            for at, text in enumerate(texts)
        ],
        "delivered": [
            {**delivered, "excerpt": f"e{at}", "version": text, "cadence": text}
            for at, text in enumerate(texts)
        ],
        "flashes": {"found": True, "said": texts[0]},
    }


def plain(text: str) -> str:
    return " ".join(text.encode("utf-8", "replace").decode().split())


def test_a_hostile_title_or_name_shows_as_text(browser: Browser, tmp_path: Path) -> None:
    values = hostile_values()
    with opened(browser, preview_folder(tmp_path, values), width=360) as found:
        page = found.page
        assert plain(page.locator("h1").inner_text()) == plain(values["film"])
        names = page.locator("#versions-rows th").evaluate_all(
            "(all) => all.map((one) => one.textContent)"
        )
        assert [plain(one).replace("\ufffd", "?") for one in names] == list(
            map(plain, HOSTILE.values())
        )
        for at in range(len(HOSTILE)):
            page.select_option("#excerpt", str(at))
            if at in {0, 1, 4}:
                look_everywhere(page)
                page.click("#tab-watch")
            assert page.evaluate("document.documentElement.scrollWidth") <= 360

        assert page.evaluate("window.harmed") is None
        assert page.locator("body script").count() == 2
        assert page.locator("b, i, img, iframe").count() == 0
        assert found.told == []


def test_nothing_outside_the_folder_is_asked_for_and_nothing_is_complained_of(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        look_everywhere(found.page)
        found.page.click("#tab-delivered")
        found.page.click("#made-play")
        found.page.wait_for_timeout(300)

        assert found.told == []
        assert len(found.asked) > 10
        own = (address.parent.as_uri() + "/", "data:,", "blob:null/", "blob:file:")
        assert [one for one in found.asked if not one.startswith(own)] == []


def test_the_policy_lets_no_other_script_style_or_address_in(
    browser: Browser, address: Path
) -> None:
    with opened(browser, address) as found:
        tried = found.page.evaluate(INTRUSIONS)

        assert tried == {
            "script": False,
            "handler": False,
            "style": False,
            "fetch": False,
            "frame": False,
        }
        policy = found.page.get_attribute("meta[http-equiv]", "content") or ""
        assert policy.startswith("default-src 'none'")
        assert "unsafe" not in policy
        assert "http:" not in policy
        assert "*" not in policy


INTRUSIONS = """
async () => {
  const script = document.createElement("script");
  script.textContent = "window.harmed = 1";
  document.body.append(script);
  const style = document.createElement("style");
  style.textContent = "h1 { position: fixed }";
  document.head.append(style);
  const holder = document.createElement("div");
  holder.innerHTML = '<p onclick="window.handled = 1"></p>';
  document.body.append(holder);
  holder.firstChild.click();
  const frame = document.createElement("iframe");
  frame.srcdoc = "<script>top.framed = 1</script>";
  document.body.append(frame);
  const fetched = await fetch("https://example.org/").then(() => true, () => false);
  await new Promise((resolve) => setTimeout(resolve, 100));
  return {
    script: Boolean(window.harmed), handler: Boolean(window.handled), fetch: fetched,
    style: getComputedStyle(document.querySelector("h1")).position === "fixed",
    frame: Boolean(window.framed),
  };
}
"""


def test_the_page_itself_names_no_address_and_no_inline_style_or_handler() -> None:
    page = preview_page(sample_values())
    addresses = set(re.findall(r"\w+://[^\s\"'`]+", page))

    assert addresses <= {"http://www.w3.org/2000/svg"}  # a name, not a place
    markup = page.split("<script")[0]
    assert not re.search(r"\sstyle=|\son\w+=", markup)
    assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\(", page)


def test_the_same_values_give_the_same_page() -> None:
    assert preview_page(sample_values()) == preview_page(sample_values())


@pytest.mark.parametrize(
    ("found", "head"),
    [
        (True, "Caution: this film flashes."),
        (None, "Caution: the film was not checked"),
        (False, ""),
    ],
)
def test_a_caution_stands_where_the_film_flashes_or_was_not_checked(
    browser: Browser, tmp_path: Path, found: object, head: str
) -> None:
    values = sample_values(delivered=[], flashes={"found": found, "said": "So it was seen."})
    with opened(browser, preview_folder(tmp_path, values)) as one:
        assert one.page.is_visible("#flashing") == bool(head)
        if head:
            assert head in one.page.inner_text("#flashing")
        assert "So it was seen." in one.page.inner_text("body")


@pytest.mark.parametrize("width", [360, 1280, 3840])
def test_no_way_of_looking_is_wider_than_the_window(
    browser: Browser, address: Path, width: int
) -> None:
    with opened(browser, address, width=width) as found:
        page = found.page
        look_everywhere(page)
        for tab in TABS:
            page.click(f"#tab-{tab}")
            assert page.evaluate("document.documentElement.scrollWidth") <= width


AXE = Path(pytest.importorskip("axe_playwright_python").__file__).parent / "axe.min.js"
STAGES: dict[str, tuple[str, ...]] = {
    "watch": ("#marks-put", "#watch-on", "#marks-put", "#watch-choose button:nth-child(1)"),
    "side": ("#tab-side", "#side-count button:nth-child(3)", "#side-locked"),
    "delivered": ("#tab-delivered", "#made-on"),
    "blind": ("#tab-blind",),
    "vote": ("#blind-begin",),
    "result": ("#blind-left", "#blind-end"),
    "hand": ("#tab-hand",),
}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_automatic_check_of_accessibility_finds_nothing_serious(
    browser: Browser, address: Path, scheme: Any
) -> None:
    with opened(browser, address, color_scheme=scheme) as found:
        page = found.page
        until(page, "document.querySelector('#watch-screen').textContent.includes(':')")
        page.fill("#watch-typed", "fast")  # so that a complaint is there to be looked at
        page.press("#watch-typed", "Enter")
        page.evaluate(AXE.read_text(encoding="utf-8"))
        for stage, clicks in STAGES.items():
            for click in clicks:
                page.click(click)
            page.mouse.move(0, 0)
            violations = page.evaluate("axe.run().then((found) => found.violations)")
            grave = [
                (one["id"], [node["html"][:120] for node in one["nodes"]])
                for one in violations
                if one["impact"] in {"serious", "critical"}
            ]
            assert grave == [], stage
