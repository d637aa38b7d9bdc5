"""The preview page as one text of HTML: style, script and data are inside it.

The page is to be opened from a disk, beside the pictures and movies it shows. It asks for nothing
else: its content security policy lets in its own style and script by their digests, and pictures
and movies from the folder.
"""

from __future__ import annotations

import json
from base64 import b64encode
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from retime import __version__
from retime.evidence.natural import NATURAL

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["MODULES", "preview_page"]

MODULES: tuple[str, ...] = (
    "data",
    "fractions",
    "notation",
    "yaml",
    "dom",
    "clock",
    "beat",
    "pictures",
    "player",
    "refresh",
    "lists",
    "chance",
    "normal",
    "triads",
    "viewing",
    "pairs",
    "papers",
    "keys",
    "tabs",
    "excerpt",
    "choosing",
    "places",
    "marks",
    "watch",
    "side",
    "strip",
    "delivered",
    "scale",
    "blind",
    "handing",
    "main",
)
"""The modules of the page's script, each before those that use it."""

_STYLES = ("page", "controls", "panels")


def preview_page(values: Mapping[str, Any]) -> str:
    """Return the page for the values of a ``retime-preview/1`` block, told in ``preview``.

    The same values give the same text. What cannot be written in UTF-8, as in the name of a file
    of another coding, becomes a question mark.
    """
    environment = Environment(
        loader=PackageLoader("retime.preview", "page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    script = _joined(environment, [f"{name}.js" for name in MODULES])
    style = _joined(environment, [f"{name}.css" for name in _STYLES])
    return environment.get_template("index.html").render(
        film=_writable(str(values["film"])),
        version=__version__,
        policy=_policy(script, style),
        script=script,
        style=style,
        data=_block({**values, "natural": _natural()}),
    )


def _joined(environment: Environment, names: list[str]) -> str:
    """Return files of the page's folder in a row, as they are: they are no templates."""
    loader = environment.loader
    assert loader is not None  # noqa: S101 - it was given above
    return "\n" + "".join(loader.get_source(environment, name)[0] for name in names)


def _policy(script: str, style: str) -> str:
    """Return the content security policy, which names this script and this style alone."""
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src 'sha256-{_digest(script)}'",
            f"style-src 'sha256-{_digest(style)}'",
            "img-src 'self' file: data: blob:",
            "media-src 'self' file:",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )


def _digest(text: str) -> str:
    return b64encode(sha256(text.encode()).digest()).decode()


def _block(values: Mapping[str, Any]) -> str:
    """Return the data as JSON that no text in it can end: it holds no "<" and no raw character."""
    return json.dumps(values, ensure_ascii=True, sort_keys=True).replace("<", "\\u003c")


def _writable(text: str) -> str:
    return text.encode("utf-8", "replace").decode("utf-8")


def _natural() -> list[dict[str, Any]]:
    """Return the movements that marks can be of, each with how often a second it comes."""
    return [
        {"name": one.name, "counted": one.counted, "often": float(one.frequency.value)}
        for one in NATURAL
    ]
