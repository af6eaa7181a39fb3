"""Pieces that the JSON Schemas of the pricing problems and plans are put together from."""

from __future__ import annotations

from typing import Any

__all__ = [
    "DECIMAL", "DRAFT", "MAYBE_DECIMAL", "MAYBE_NUMBER", "MAYBE_TEXT", "SIGNED", "TEXT", "all_of",
    "object_of",
]  # fmt: skip

DRAFT = "https://json-schema.org/draft/2020-12/schema"
DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
MAYBE_DECIMAL = {"anyOf": [DECIMAL, {"type": "null"}]}
TEXT = {"type": "string"}
MAYBE_TEXT = {"type": ["string", "null"]}
MAYBE_NUMBER = {"type": ["number", "null"]}


def object_of(required: str, properties: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of an object with these keys only; `required` names some, by spaces."""
    return {
        "type": "object",
        "required": required.split(),
        "properties": properties,
        "additionalProperties": False,
    }


def all_of(properties: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of an object that has all these keys and no other."""
    return object_of(" ".join(properties), properties)
