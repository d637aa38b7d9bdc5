"""The one bridge to OpenTimelineIO, which an extra brings along."""

from __future__ import annotations

import importlib
from typing import Any

from retime.errors import CommandError

__all__ = ["FACTS", "opentimelineio"]

FACTS = "retime"
"""The key of a clip's metadata under which we write what it is, exactly."""


def opentimelineio() -> Any:
    """Return the library.

    Raises:
        CommandError: it is not installed.
    """
    try:
        return importlib.import_module("opentimelineio")
    except ImportError as error:
        raise CommandError(
            "OpenTimelineIO is not installed", "install it with pip install 'retime[otio]'"
        ) from error
