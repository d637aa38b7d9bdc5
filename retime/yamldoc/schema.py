"""JSON Schemas of documents, for editors that complete keys and mark mistakes while one writes.

An editor has turned ``20`` into a number, and ``no`` into a switch, before it looks at the
schema; so wherever a document holds a text, its schema allows any scalar. What a figure may say
is left to the reader.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic.json_schema import GenerateJsonSchema

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic.json_schema import JsonSchemaValue
    from pydantic_core import core_schema

__all__ = ["EditorSchema", "document_schema"]


def document_schema(model: type[BaseModel], title: str, description: str) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a document as a YAML editor sees it."""
    schema = model.model_json_schema(schema_generator=EditorSchema)
    return schema | {
        "$schema": GenerateJsonSchema.schema_dialect,
        "title": title,
        "description": description,
    }


class EditorSchema(GenerateJsonSchema):
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
