"""One folder for all that the tests of detection make, made once a run."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the folder."""
    return tmp_path_factory.mktemp("transfers")
