"""Pieces that the JSON Schemas of the pricing problems and plans are put together from."""

from __future__ import annotations

from collop.wire import SCHEMA_DRAFT as DRAFT
from collop.wire import all_of, object_of

__all__ = [
    "DECIMAL", "DRAFT", "MAYBE_DECIMAL", "MAYBE_NUMBER", "MAYBE_TEXT", "SIGNED", "TEXT", "all_of",
    "object_of",
]  # fmt: skip

DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
MAYBE_DECIMAL = {"anyOf": [DECIMAL, {"type": "null"}]}
TEXT = {"type": "string"}
MAYBE_TEXT = {"type": ["string", "null"]}
MAYBE_NUMBER = {"type": ["number", "null"]}
