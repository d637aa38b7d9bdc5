"""Pages of HTML of one piece: their templates, and their style with its digest."""

from __future__ import annotations

from base64 import b64encode
from hashlib import sha256
from typing import NamedTuple

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

__all__ = ["Style", "pages", "style_of"]


class Style(NamedTuple):
    """A page's style sheet, and the source by which a content security policy allows it alone."""

    text: Markup
    source: Markup


def pages() -> Environment:
    """Return the environment of the house's pages: all that they are told is text, and escaped."""
    return Environment(
        loader=PackageLoader("retime.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def style_of(environment: Environment, *names: str) -> Style:
    """Return style sheets one after the other.

    The digest is of the text between the tags, as W3C Content Security Policy Level 3 has it.
    """
    text = "".join(environment.get_template(name).render() for name in names)
    digest = b64encode(sha256(text.encode()).digest()).decode()
    return Style(Markup(text), Markup(f"'sha256-{digest}'"))  # noqa: S704 - our own files
