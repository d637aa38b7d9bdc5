"""A text as YAML writes it, in one line: plain where it can be, in quotes where it has to be."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import yaml

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["bracketed", "written"]


def written(text: str, style: str, *, flow: bool, key: bool = False) -> str:
    """Return ``text`` as a scalar; ``style`` is the quote that is wished for, empty for none.

    ``flow`` says that it goes into brackets, ``key`` that it is a key.

    Raises:
        ValueError: it cannot be written in one line.
    """
    single = "'" + text.replace("'", "''") + "'"
    double = json.dumps(text, ensure_ascii=False)
    wished = {"'": [single], '"': [double]}.get(style, [text])
    for one in (*wished, single, double):
        if _reads(one, flow=flow, key=key) == text:
            return one
    raise ValueError(f"{text!r} cannot be written in one line")


def _reads(scalar: str, *, flow: bool, key: bool) -> str | None:
    """Return what a scalar is read as where it is to stand, None where it is no text there."""
    if "\n" in scalar or "\r" in scalar or scalar in {"", "~", "<<"}:
        return None
    pair = f"{scalar}: x" if key else f"x: {scalar}"
    after = "y" * (len(scalar) + 1) if key else "y"  # longer, and so another key
    sample = f"{{{pair}, {after}: z}}" if flow else f"{pair}\n{after}: z"
    try:
        read = yaml.load(sample, Loader=yaml.CBaseLoader)  # noqa: S506 - texts alone
    except (yaml.YAMLError, ValueError):
        return None
    if not isinstance(read, dict) or list(read.values())[1:] != ["z"]:
        return None
    found = next(iter(read)) if key else read.get("x")
    return found if isinstance(found, str) else None


def bracketed(pairs: Mapping[str, str]) -> str:
    """Return keys, and values that are put in as they are, as a mapping in brackets."""
    told = (f"{written(key, '', flow=True, key=True)}: {raw}" for key, raw in pairs.items())
    return "{" + ", ".join(told) + "}"
