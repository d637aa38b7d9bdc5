"""Which keys a model knows at a place, for the hint beside an unknown key."""

from __future__ import annotations

import types
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel

__all__ = ["known_keys"]


def known_keys(wanted: Any, loc: tuple[int | str, ...]) -> list[str]:
    """Return the keys that ``wanted`` has at ``loc``, pydantic's path of an error.

    A step that leads nowhere is the name of a union's member, and is passed over.
    """
    here = _members(wanted)
    for step in loc:
        here = [inner for one in here for inner in _step(one, step)] or here
    models = [one for one in here if isinstance(one, type) and issubclass(one, BaseModel)]
    return [field.alias or name for model in models for name, field in model.model_fields.items()]


def _members(annotation: Any) -> list[Any]:
    """Return the types that an annotation allows, those of a union one by one."""
    origin = get_origin(annotation)
    if origin is Annotated:
        return _members(get_args(annotation)[0])
    if origin in {Union, types.UnionType}:
        return [one for member in get_args(annotation) for one in _members(member)]
    return [annotation]


def _step(kind: Any, step: int | str) -> list[Any]:
    """Return the types that lie one step inside ``kind``."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        for name, field in kind.model_fields.items():
            if step in {name, field.alias}:
                return _members(field.annotation)
        return []
    inner = [one for one in get_args(kind) if one is not Ellipsis]
    if get_origin(kind) is dict and isinstance(step, str):
        return _members(inner[1])
    if get_origin(kind) in {list, tuple} and isinstance(step, int):
        return _members(inner[0])
    return []
