"""The inks of a figure that matplotlib has drawn: what it writes as style becomes a page's classes.

The page's content security policy lets no ``style`` attribute in, and its dark scheme has colours
of its own. So measures become attributes of SVG, and each grey becomes a class by what it is for,
whose colour ``weighing.css`` says.
"""

from __future__ import annotations

import re

__all__ = ["BLACK", "DIM", "HALF", "INK", "MOST", "PALE", "PAPER", "inked"]

INK, DIM, PALE, HALF, MOST, PAPER = "#1a1a1a", "#737373", "#d9d9d9", "#b2b2b2", "#e0e0e0", "#ffffff"
BLACK = "#000000"  # of what is drawn in no colour of ours: axes and their words
_INKS = {
    INK: "ink",
    BLACK: "ink",
    DIM: "dim",
    PALE: "pale",
    HALF: "half",
    MOST: "most",
    PAPER: "paper",
}
_STYLE = re.compile(r' style="([^"]*)"')
_FONT = re.compile(r"(italic |oblique )?(bold |[1-9]00 )?([\d.]+px) .*")


def inked(svg: str) -> str:
    """Return a figure without ``style``; raises ``KeyError`` on a colour that is no ink of ours."""
    return _STYLE.sub(lambda found: _attributes(found[1]), svg)


def _attributes(style: str) -> str:
    classes: list[str] = []
    told: dict[str, str] = {}
    for declaration in style.split(";"):
        name, _, value = (part.strip() for part in declaration.partition(":"))
        if name in {"fill", "stroke"} and value != "none":
            classes.append(f"{name}-{_INKS[value]}")
        elif name == "font":
            told |= _font(value)
        elif name != "font-family":  # the page's own
            told[name] = value
    named = {"class": " ".join(classes), **told} if classes else told
    return "".join(f' {name}="{value}"' for name, value in named.items())


def _font(value: str) -> dict[str, str]:
    """Return the parts of a font that is told in one, as some releases of matplotlib do."""
    found = _FONT.fullmatch(value)
    if found is None:
        return {}
    parts = {"font-style": found[1], "font-weight": found[2], "font-size": found[3]}
    return {name: part.strip() for name, part in parts.items() if part}
