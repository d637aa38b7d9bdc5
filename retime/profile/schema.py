"""The profile's JSON Schema."""

from __future__ import annotations

from typing import TYPE_CHECKING

from retime.profile.model import ProfileDocument
from retime.yamldoc.schema import document_schema

if TYPE_CHECKING:
    from typing import Any

__all__ = ["profile_schema"]


def profile_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a profile."""
    description = "A profile: codec, container, pixel formats and rates of a deliverable."
    return document_schema(ProfileDocument, "retime-profile/1", description)
