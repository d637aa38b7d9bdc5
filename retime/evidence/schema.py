"""The evidence file's JSON Schema."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.evidence.document import FORMAT, EvidenceDocument
from retime.yamldoc.schema import document_schema

if TYPE_CHECKING:
    from typing import Any

__all__ = ["evidence_schema"]


def evidence_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of an evidence file."""
    description = "The evidence for a film's speed: what documents and its motion say of it."
    return document_schema(EvidenceDocument, FORMAT, description)
