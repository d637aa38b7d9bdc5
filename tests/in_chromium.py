"""A fixture of the tests that look at pages; a test module takes it by ``pytest_plugins``."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser

__all__ = ["browser"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Return a Chromium; without one, or without what drives it, the test is left out."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("there is no Chromium here: scripts/test installs it")
    with playwright.sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield running
        running.close()
