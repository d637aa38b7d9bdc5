"""The map's JSON Schema."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.speedmap.document import FORMAT, MapDocument
from retime.yamldoc.schema import document_schema

if TYPE_CHECKING:
    from typing import Any

__all__ = ["map_schema"]


def map_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a speed map."""
    description = "A speed map: which film, at which speeds, for which deliverables."
    return document_schema(MapDocument, FORMAT, description)
