"""An encoder's options as one list, whoever of several tells it what."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["joined"]

# Options that are themselves lists of options, and what stands between two of them. FFmpeg's
# flags each begin with their own sign: + for on, - for off.
_LISTS = {"x264-params": ":", "flags": ""}
_SIGNS = ("+", "-")


def joined(*told: Mapping[str, str]) -> dict[str, str]:
    """Return all options; the last to name one decides, but lists of options add up."""
    options: dict[str, str] = {}
    for one in told:
        for key, value in one.items():
            text = f"+{value}" if key == "flags" and not value.startswith(_SIGNS) else value
            options[key] = f"{options[key]}{_LISTS[key]}{text}" if _adds(key, options) else text
    return options


def _adds(key: str, options: Mapping[str, str]) -> bool:
    return key in _LISTS and key in options
