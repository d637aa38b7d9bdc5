"""A pydantic model held against a located document: every complaint becomes a located finding.

A document is whatever can give its values and say where each stands: a ``Tree``, or a table read
from CSV. Complaints about keys point at the key, those about values at the value. An error of
notation raised by a validator (``retime.errors.NotationError``) keeps its text and its hint.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any, Protocol, TypeVar, cast

from msgspec import Struct
from pydantic import BaseModel, ConfigDict, TypeAdapter, ValidationError

from retime.errors import DocumentError, NotationError
from retime.findings import Finding
from retime.yamldoc.fields import known_keys
from retime.yamldoc.quoting import listed, quoted, suggestion

if TYPE_CHECKING:
    from collections.abc import Hashable

    from pydantic_core import ErrorDetails

    from retime.findings import TextPlace
    from retime.yamldoc.tree import NodePath, Tree

__all__ = ["Fault", "Located", "Section", "examine", "validate"]

_M = TypeVar("_M", bound=BaseModel)
_T = TypeVar("_T")

_MOST_FAULTS = 200
_KEY = "[key]"
_WANTED = {
    "string_type": "a text",
    "dict_type": "keys with values",
    "model_type": "keys with values",
    "model_attributes_type": "keys with values",
    "list_type": "a list",
    "tuple_type": "a list",
}


class Section(BaseModel):
    """A frozen part of a document: keys that it does not name are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=False, defer_build=True)


class Located(Protocol):
    """A document whose values know where they stand."""

    def place(self, path: NodePath, *, key: bool = False) -> TextPlace:
        """Return the place of the value at ``path``, or of its key; steps unknown are skipped."""

    def has(self, path: NodePath) -> bool:
        """Say whether something is written at ``path``."""


class Fault(Struct, frozen=True, kw_only=True):
    """A finding with the path it concerns.

    ``superfluous`` if it is a key nobody knows; ``told`` if reading has found it already.
    """

    path: NodePath
    finding: Finding
    superfluous: bool = False
    told: bool = False


def validate(model: type[_M], tree: Tree) -> _M:
    """Return the document as ``model``.

    Raises:
        DocumentError: with every mistake found, those from reading the text included.
    """
    value, faults = examine(model, tree.plain(), tree)
    findings = [*tree.findings, *(fault.finding for fault in faults if not fault.told)]
    if findings or value is None:
        raise DocumentError(findings)
    return value


def examine(
    wanted: type[_T], plain: object, document: Located
) -> tuple[_T | None, tuple[Fault, ...]]:
    """Return ``plain`` as ``wanted`` (a model, or a list of models), or None and what is wrong."""
    try:
        return _adapter(cast("Hashable", wanted)).validate_python(plain), ()
    except ValidationError as error:
        details = error.errors(include_url=False)
    return None, tuple(_fault(wanted, one, document) for one in details[:_MOST_FAULTS])


@cache
def _adapter(wanted: Any) -> TypeAdapter[Any]:
    """Return what validates: built when it is first asked, a whole document's in 17 ms."""
    return TypeAdapter(wanted)


def _fault(wanted: Any, error: ErrorDetails, document: Located) -> Fault:
    kind, loc = error["type"], error["loc"]
    path = _written(loc, document)
    if kind == "missing":
        path = (*path, loc[-1])
    text, hint = _said(wanted, error)
    key = kind == "extra_forbidden" or loc[-1:] == (_KEY,)
    finding = Finding(place=document.place(path, key=key), rule=kind, text=text, hint=hint)
    return Fault(
        path=path,
        finding=finding,
        superfluous=kind == "extra_forbidden",
        told=error["input"] is None and kind != "missing",
    )


def _written(loc: tuple[int | str, ...], document: Located) -> NodePath:
    """Return those steps of ``loc`` that are written; others are names of a union's members."""
    path: NodePath = ()
    for step in loc:
        if document.has((*path, step)):
            path = (*path, step)
    return path


def _said(wanted: Any, error: ErrorDetails) -> tuple[str, str]:
    """Return a complaint in our own words, and what would be right."""
    kind, loc, value = error["type"], error["loc"], error["input"]
    context = error.get("ctx", {})
    cause = context.get("error")
    if isinstance(cause, NotationError):
        return cause.text, cause.hint
    if kind == "missing":
        return f"{quoted(str(loc[-1]))} is missing", ""
    if kind == "extra_forbidden":
        word = str(loc[-1])
        return f"unknown key {quoted(word)}", suggestion(word, known_keys(wanted, loc[:-1]))
    if kind in _WANTED:
        return f"this is {_what(value)} where {_WANTED[kind]} should stand", ""
    if kind in {"literal_error", "enum"}:
        return f"{_shown(value)} is not known here", f"write {context['expected']}"
    return error["msg"][:1].lower() + error["msg"][1:], ""


def _shown(value: object) -> str:
    return quoted(value) if isinstance(value, str) else _what(value)


def _what(value: object) -> str:
    """Say what kind of thing was written."""
    match value:
        case str():
            return f"the text {quoted(value)}"
        case list():
            return "a list"
        case dict():
            keys = listed(quoted(str(key))[1:-1] for key in value)
            return f"keys with values ({keys})" if value else "no keys at all"
        case _:
            return "nothing"
