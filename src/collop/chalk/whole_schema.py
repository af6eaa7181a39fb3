"""JSON Schema of whole-or-cut and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.amounts import UNITS
from collop.chalk.whole_reading import MOST_CUTS

__all__ = ["SCHEMAS"]

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_TEXT = {"type": "string"}
_MAYBE_TEXT = {"type": ["string", "null"]}
_NUMBER = {"type": "number"}
_MAYBE_NUMBER = {"type": ["number", "null"]}


def _object(required: str, properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "required": required.split(),
        "properties": properties,
        "additionalProperties": False,
    }


def _all_of(properties: dict[str, Any]) -> dict[str, Any]:
    return _object(" ".join(properties), properties)


_SHRINK = {"type": ["number", "null"], "minimum": 0, "maximum": 0.99}
_CUT = _object(
    "id share price",
    {
        "id": _TEXT,
        "name": _MAYBE_TEXT,
        "share": {"type": "number", "minimum": 0, "maximum": 1},
        "price": _DECIMAL,
        "shrink": _SHRINK,
        "case_free": _MAYBE_DECIMAL,
        "sells_per_day": _MAYBE_DECIMAL,
    },
)
_PROBLEM = {
    "$schema": _DRAFT,
    "title": "collop.whole/1",
    **_object(
        "schema piece cuts",
        {
            "schema": {"const": "collop.whole/1"},
            "name": _MAYBE_TEXT,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "piece": _object(
                "weight", {"name": _MAYBE_TEXT, "weight": _DECIMAL, "price": _MAYBE_DECIMAL}
            ),
            "cuts": {"type": "array", "minItems": 1, "maxItems": MOST_CUTS, "items": _CUT},
            "labour_per_unit": _MAYBE_DECIMAL,
            "labour_minutes": _MAYBE_DECIMAL,
            "labour_per_hour": _MAYBE_DECIMAL,
            "packaging_per_unit": _MAYBE_DECIMAL,
            "risk_per_unit": _MAYBE_DECIMAL,
            "whole_labour_per_unit": _MAYBE_DECIMAL,
            "whole_packaging_per_unit": _MAYBE_DECIMAL,
            "whole_shrink": _SHRINK,
            "days": {"type": ["number", "null"], "minimum": 0, "maximum": 365},
        },
    ),
}

_TERM = _all_of(
    {"id": _TEXT, "name": _TEXT, "share": _NUMBER, "weight": _DECIMAL, "sells": _DECIMAL,
     "price": _DECIMAL, "per_unit": _DECIMAL, "value": _DECIMAL}
)  # fmt: skip
_AT = _all_of(
    {
        "price": _DECIMAL,
        "whole_per_unit": _SIGNED,
        "gain_per_unit": _SIGNED,
        "gain": _SIGNED,
        "better": {"enum": ["whole", "cut", "even"]},
        "turns": {
            "type": "array",
            "items": _all_of({"id": _TEXT, "name": _TEXT, "price": _MAYBE_DECIMAL}),
        },
    }
)
_TAKES = _all_of(
    {"id": _TEXT, "name": _TEXT, "weight": _DECIMAL, "days": _MAYBE_NUMBER,
     "cover_days": _MAYBE_NUMBER, "short": {"type": ["boolean", "null"]},
     "short_weight": _MAYBE_DECIMAL}
)  # fmt: skip
_PLAN = {
    "$schema": _DRAFT,
    "title": "collop.whole.plan/1",
    **_all_of(
        {
            "schema": {"const": "collop.whole.plan/1"},
            "name": _TEXT,
            "currency": _TEXT,
            "unit": {"enum": list(UNITS)},
            "piece": _TEXT,
            "weight": _DECIMAL,
            "break_even": _SIGNED,
            "gross_per_unit": _DECIMAL,
            "labour_per_unit": _DECIMAL,
            "packaging_per_unit": _DECIMAL,
            "risk_per_unit": _DECIMAL,
            "separated_per_unit": _SIGNED,
            "separated": _SIGNED,
            "whole_cost_per_unit": _DECIMAL,
            "whole_keeps": {"type": "number", "exclusiveMinimum": 0, "maximum": 1},
            "unsold_share": {"type": "number", "minimum": 0, "maximum": 1},
            "unsold_weight": _DECIMAL,
            "terms": {"type": "array", "minItems": 1, "items": _TERM},
            "at": {"anyOf": [_AT, {"type": "null"}]},
            "days": _NUMBER,
            "takes": {"type": "array", "minItems": 1, "items": _TAKES},
            "say": _TEXT,
            "assumptions": {"type": "array", "items": _TEXT},
        }
    ),
}

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {"whole": _PROBLEM, "whole.plan": _PLAN}
