"""The map's JSON Schema, by which an editor completes keys and marks mistakes while one writes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic.json_schema import GenerateJsonSchema

from retime.speedmap.document import FORMAT, MapDocument

if TYPE_CHECKING:
    from pydantic.json_schema import JsonSchemaValue
    from pydantic_core import core_schema

__all__ = ["map_schema"]


def map_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a map as a YAML editor sees it.

    An editor has turned ``20`` into a number, and ``no`` into a switch, before it looks at the
    schema; so wherever a map holds a text, the schema allows any scalar. What a figure may say is
    left to the reader.
    """
    schema = MapDocument.model_json_schema(schema_generator=_EditorSchema)
    return schema | {
        "$schema": GenerateJsonSchema.schema_dialect,
        "title": FORMAT,
        "description": "A speed map: which film, at which speeds, for which deliverables.",
    }


class _EditorSchema(GenerateJsonSchema):
    """A schema in which a key is left out rather than empty, and keys stand for themselves."""

    def field_title_should_be_set(self, schema: Any) -> bool:  # noqa: ARG002
        """Give keys no second name."""
        return False

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        """Refuse an empty value, as the reader does."""
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        """Say no default where leaving a key out means nothing."""
        if schema.get("default") is None:
            return self.generate_inner(schema["schema"])
        return super().default_schema(schema)
