"""The page of figures in a real Chromium, opened from the disk."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import pytest
from benching.page import page_of
from measures import measured

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytest_plugins = ["in_chromium"]


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("figures") / "figures.html"
    path.write_text(page_of(measured()), encoding="utf-8")
    return path


@pytest.mark.parametrize(("width", "scheme"), [(360, "dark"), (1280, "light"), (3840, "light")])
def test_the_page_of_figures_asks_for_nothing_and_is_easy_to_read(
    browser: Browser, file: Path, width: int, scheme: Literal["light", "dark"]
) -> None:
    # axe-core's rules for WCAG 2.2 A and AA, and its best practices.
    spec = find_spec("axe_playwright_python")
    if spec is None or spec.origin is None:
        pytest.skip("axe-playwright-python is not installed")
    axe = Path(spec.origin).with_name("axe.min.js").read_text(encoding="utf-8")
    said: list[str] = []
    asked: list[str] = []
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    wide = page.evaluate("document.documentElement.scrollWidth")
    dot = page.evaluate("getComputedStyle(document.querySelector('svg .dot')).fill")
    page.evaluate(axe)
    found: dict[str, Any] = page.evaluate("axe.run(document)")
    page.close()

    assert [] == said
    assert [file.as_uri()] == asked
    assert width == wide
    assert "rgb(0, 0, 0)" != dot, "the policy has let the style in"
    assert [] == [fault["id"] for fault in found["violations"]]
