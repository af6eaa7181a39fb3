"""JSON Schema of a lethality problem and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.fire.lethality_reading import COOK_AS, MOST_LOG, MOST_READINGS, SCHEMA_ID, TREATMENTS
from collop.fire.lethality_tables import TABLES
from collop.wire import SCHEMA_DRAFT, all_of, object_of

__all__ = ["SCHEMAS"]

_TEXT = {"type": "string"}
_TEXTS = {"type": "array", "items": _TEXT}
_NUMBER = {"type": "number"}
_FLAG = {"type": "boolean"}
_CORE = {"type": "number", "minimum": -40, "maximum": 150}
_LOG = {"type": "number", "minimum": 0, "maximum": MOST_LOG}
_TARGET = {"type": "number", "minimum": 1, "maximum": MOST_LOG}
_MINUTES = {"type": "number", "minimum": 0}


_HISTORY = {
    "type": "array",
    "minItems": 2,
    "maxItems": MOST_READINGS,
    "items": all_of(
        {"min": {"type": "number", "minimum": -100_000, "maximum": 100_000}, "core_c": _CORE}
    ),
}
_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": SCHEMA_ID,
    **object_of(
        "schema table",
        {
            "schema": {"const": SCHEMA_ID},
            "table": {"enum": list(TABLES)},
            "log_reduction": {**_TARGET, "type": ["number", "null"]},
            "fat_pct": {"type": ["number", "null"], "minimum": 0, "maximum": 60},
            "cook_as": {"enum": [*COOK_AS, None]},
            "treatment": {"enum": [*TREATMENTS, None]},
            "history": {"anyOf": [_HISTORY, {"type": "null"}]},
            "at_c": {"anyOf": [
                {"type": "array", "minItems": 1, "maxItems": MOST_READINGS, "items": _CORE},
                {"type": "null"}]},
        },
    ),
}  # fmt: skip
_REQUIRED = {"type": "object", "additionalProperties": _MINUTES}
_COUNTED = all_of({
    "schema": {"const": "collop.lethality.plan/1"},
    "table": {"enum": list(TABLES)},
    "target": _TARGET,
    "log_reduction": _LOG,
    "required_min_at_c": _REQUIRED,
    "reached": _FLAG,
    "peak_c": _CORE,
    "counted_from_c": _NUMBER,
    "kinetics": {"type": "array", "items": all_of({
        "name": _TEXT, "organism": _TEXT, "d_min": _NUMBER, "at_c": _NUMBER, "z_c": _NUMBER,
        "target": _TARGET, "log_reduction": _LOG, "reached": _FLAG, "source": _TEXT})},
    "slowest": {"type": ["string", "null"]},
    "reached_by_all": _FLAG,
    "published_minimum": all_of({
        "met": _FLAG, "rule": _TEXT, "source": _TEXT,
        "core_f": {"type": "integer", "minimum": 145}, "core_c": {"type": "integer", "minimum": 63},
        "rest_min": {"type": "integer", "minimum": 0}, "held_min": _MINUTES,
        "text": _TEXT, "say": _TEXT}),
    "cautions": _TEXTS,
    "assumptions": _TEXTS,
})  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "lethality": _PROBLEM,
    "lethality.plan": {
        "$schema": SCHEMA_DRAFT,
        "title": "collop.lethality.plan/1",
        "anyOf": [_COUNTED, all_of({"required_min_at_c": _REQUIRED})],
    },
}
