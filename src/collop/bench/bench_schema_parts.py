"""Pieces that the JSON Schemas of the cutting plan are put together from."""

from __future__ import annotations

from typing import Any

from collop.bench.reading import MOST_DAYS
from collop.bench.reading_parts import MOST_ID, MOST_NAME
from collop.wire import SCHEMA_DRAFT as DRAFT
from collop.wire import all_of, object_of

__all__ = [
    "DATE",
    "DAY",
    "DECIMAL",
    "DRAFT",
    "FLAG",
    "ID",
    "MAYBE_DECIMAL",
    "NAME",
    "SIGNED",
    "TEXT",
    "Schema",
    "all_of",
    "each_day",
    "lines_of",
    "list_of",
    "maybe_list",
    "object_of",
    "or_null",
    "whole",
]

Schema = dict[str, Any]

DECIMAL: Schema = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
SIGNED: Schema = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
TEXT: Schema = {"type": "string"}
ID: Schema = {"type": "string", "minLength": 1, "maxLength": MOST_ID}
DATE: Schema = {"type": "string", "pattern": r"^\d{4}-\d\d-\d\d$"}
FLAG: Schema = {"type": ["boolean", "null"]}


def or_null(schema: Schema) -> Schema:
    """Return the schema of a value that may be null."""
    return {"anyOf": [schema, {"type": "null"}]}


MAYBE_DECIMAL = or_null(DECIMAL)
NAME: Schema = {"type": ["string", "null"], "maxLength": MOST_NAME}


def whole(low: int, high: int) -> Schema:
    """Return the schema of a whole number within [low, high]."""
    return {"type": "integer", "minimum": low, "maximum": high}


DAY = whole(0, MOST_DAYS - 1)


def list_of(items: Schema, most: int, least: int = 0) -> Schema:
    """Return the schema of a list with so many lines."""
    return {"type": "array", "minItems": least, "maxItems": most, "items": items}


def maybe_list(items: Schema, most: int) -> Schema:
    """Return the schema of a list that may be null."""
    return {**list_of(items, most), "type": ["array", "null"]}


def each_day(items: Schema) -> Schema:
    """Return the schema of a list with one value a day."""
    return list_of(items, MOST_DAYS, 1)


def lines_of(properties: Schema) -> Schema:
    """Return the schema of a list of objects that have all these keys and no other."""
    return {"type": "array", "items": all_of(properties)}
