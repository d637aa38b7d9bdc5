"""Pages opened in a browser, with what they say and ask for, and their automatic check."""

from __future__ import annotations

from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page


class Opened(NamedTuple):
    """A page that is open, what its console said, and what it asked for."""

    page: Page
    said: list[str]
    asked: list[str]


@contextmanager
def opened(
    browser: Browser, file: Path, width: int = 1280, scheme: Literal["light", "dark"] = "light"
) -> Iterator[Opened]:
    """Open a file at a width, in a colour scheme, and close it again."""
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    one = Opened(page, [], [])
    page.on("console", lambda message: one.said.append(message.text))
    page.on("pageerror", lambda error: one.said.append(str(error)))
    page.on("request", lambda request: one.asked.append(request.url))
    page.goto(file.as_uri())
    yield one
    page.close()


def until(page: Page, expression: str, *, seconds: float = 5) -> None:
    """Wait until an expression is true in the page, whose policy lets no driver wait inside.

    Playwright's own ``wait_for_function`` fails where the first look finds it false.
    """
    for _ in range(int(seconds * 50)):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(20)
    pytest.fail(f"after {seconds} s this is still not so: {expression}")


def accessibility(page: Page) -> tuple[list[tuple[str, str]], set[str]]:
    """Return the serious faults that axe-core finds, and the rules that were met.

    Its rules are those for WCAG 2.2 A and AA, and its best practices.
    """
    spec = find_spec("axe_playwright_python")
    if spec is None or spec.origin is None:
        pytest.skip("axe-playwright-python is not installed")
    page.evaluate(Path(spec.origin).with_name("axe.min.js").read_text(encoding="utf-8"))
    found: dict[str, Any] = page.evaluate("axe.run(document)")
    serious = [
        (fault["id"], fault["nodes"][0]["html"][-200:])
        for fault in found["violations"]
        if fault["impact"] in {"serious", "critical"}
    ]
    return serious, {rule["id"] for rule in found["passes"]}
