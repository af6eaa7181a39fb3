"""JSON Schema of yield drift and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from collop.carcass.cuttingtest_amounts import UNITS
from collop.carcass.drifting_reading import FACTORS, MOST_BREAKS, MOST_PARTS, MOST_STYLES
from collop.wire import SCHEMA_DRAFT, all_of, object_of

__all__ = ["SCHEMAS"]

_TEXT = {"type": "string"}
_MAYBE_TEXT = {"type": ["string", "null"]}
_NUMBER = {"type": "number"}
_COUNT = {"type": "integer", "minimum": 0}
_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_FACTOR = {"enum": list(FACTORS)}
_BREAK = object_of(
    "weights",
    {
        "label": _MAYBE_TEXT,
        "hand": _MAYBE_TEXT,
        "farm": _MAYBE_TEXT,
        "weights": {
            "type": "object",
            "minProperties": 2,
            "maxProperties": MOST_PARTS,
            "additionalProperties": _DECIMAL,
        },
    },
)
_STYLE = object_of(
    "style saleable breaks",
    {
        "style": _TEXT,
        "saleable": {"type": "array", "minItems": 1, "items": _TEXT},
        "breaks": {"type": "array", "minItems": 1, "maxItems": MOST_BREAKS, "items": _BREAK},
    },
)
_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": "collop.drift/1",
    **object_of(
        "schema styles",
        {
            "schema": {"const": "collop.drift/1"},
            "name": _MAYBE_TEXT,
            "unit": {"enum": [*UNITS, None]},
            "confidence": {"type": ["number", "null"], "minimum": 0.5, "maximum": 0.999},
            "styles": {"type": "array", "minItems": 1, "maxItems": MOST_STYLES, "items": _STYLE},
        },
    ),
}
_COMPARED = all_of(
    {
        "style": _TEXT,
        "factor": _FACTOR,
        "group": _TEXT,
        "part": _MAYBE_TEXT,
        "breaks": _COUNT,
        "others": _COUNT,
        "mean": _NUMBER,
        "others_mean": _NUMBER,
        "difference": _NUMBER,
        "low": _NUMBER,
        "high": _NUMBER,
        "best_guess": _NUMBER,
        "verdict": {"enum": ["more", "less", "chance"]},
        "say": _TEXT,
    }
)
_NOT_COMPARED = all_of({"style": _TEXT, "factor": _FACTOR, "breaks": _COUNT, "why": _TEXT})
_SAME = all_of({"style": _TEXT, "hand": _TEXT, "farm": _TEXT, "say": _TEXT})
_TEXTS = {"type": "array", "items": _TEXT}
_PLAN = {
    "$schema": SCHEMA_DRAFT,
    "title": "collop.drift.plan/1",
    **all_of(
        {
            "schema": {"const": "collop.drift.plan/1"},
            "name": _TEXT,
            "confidence": _NUMBER,
            "looks": all_of({"saleable": _COUNT, "parts": _COUNT}),
            "levels": all_of({"saleable": _NUMBER, "parts": _NUMBER}),
            "compared": {"type": "array", "items": _COMPARED},
            "not_compared": {"type": "array", "items": _NOT_COMPARED},
            "same": {"type": "array", "items": _SAME},
            "say": _TEXTS,
            "assumptions": _TEXTS,
        }
    ),
}

SCHEMAS = {"drift": _PROBLEM, "drift.plan": _PLAN}
