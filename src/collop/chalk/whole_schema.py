"""JSON Schema of whole-or-cut and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.amounts import UNITS
from collop.chalk.schema_parts import (
    DECIMAL,
    DRAFT,
    MAYBE_DECIMAL,
    MAYBE_NUMBER,
    MAYBE_TEXT,
    SIGNED,
    TEXT,
    all_of,
    object_of,
)
from collop.chalk.whole_reading import MOST_CUTS

__all__ = ["SCHEMAS"]

_NUMBER = {"type": "number"}


_SHRINK = {"type": ["number", "null"], "minimum": 0, "maximum": 0.99}
_CUT = object_of(
    "id share price",
    {
        "id": TEXT,
        "name": MAYBE_TEXT,
        "share": {"type": "number", "minimum": 0, "maximum": 1},
        "price": DECIMAL,
        "shrink": _SHRINK,
        "case_free": MAYBE_DECIMAL,
        "sells_per_day": MAYBE_DECIMAL,
    },
)
_PROBLEM = {
    "$schema": DRAFT,
    "title": "collop.whole/1",
    **object_of(
        "schema piece cuts",
        {
            "schema": {"const": "collop.whole/1"},
            "name": MAYBE_TEXT,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "piece": object_of(
                "weight", {"name": MAYBE_TEXT, "weight": DECIMAL, "price": MAYBE_DECIMAL}
            ),
            "cuts": {"type": "array", "minItems": 1, "maxItems": MOST_CUTS, "items": _CUT},
            "labour_per_unit": MAYBE_DECIMAL,
            "labour_minutes": MAYBE_DECIMAL,
            "labour_per_hour": MAYBE_DECIMAL,
            "packaging_per_unit": MAYBE_DECIMAL,
            "risk_per_unit": MAYBE_DECIMAL,
            "whole_labour_per_unit": MAYBE_DECIMAL,
            "whole_packaging_per_unit": MAYBE_DECIMAL,
            "whole_shrink": _SHRINK,
            "days": {"type": ["number", "null"], "minimum": 0, "maximum": 365},
        },
    ),
}

_TERM = all_of(
    {"id": TEXT, "name": TEXT, "share": _NUMBER, "weight": DECIMAL, "sells": DECIMAL,
     "price": DECIMAL, "per_unit": DECIMAL, "value": DECIMAL}
)  # fmt: skip
_AT = all_of(
    {
        "price": DECIMAL,
        "whole_per_unit": SIGNED,
        "gain_per_unit": SIGNED,
        "gain": SIGNED,
        "better": {"enum": ["whole", "cut", "even"]},
        "turns": {
            "type": "array",
            "items": all_of({"id": TEXT, "name": TEXT, "price": MAYBE_DECIMAL}),
        },
    }
)
_TAKES = all_of(
    {"id": TEXT, "name": TEXT, "weight": DECIMAL, "days": MAYBE_NUMBER,
     "cover_days": MAYBE_NUMBER, "short": {"type": ["boolean", "null"]},
     "short_weight": MAYBE_DECIMAL}
)  # fmt: skip
_PLAN = {
    "$schema": DRAFT,
    "title": "collop.whole.plan/1",
    **all_of(
        {
            "schema": {"const": "collop.whole.plan/1"},
            "name": TEXT,
            "currency": TEXT,
            "unit": {"enum": list(UNITS)},
            "piece": TEXT,
            "weight": DECIMAL,
            "break_even": SIGNED,
            "gross_per_unit": DECIMAL,
            "labour_per_unit": DECIMAL,
            "packaging_per_unit": DECIMAL,
            "risk_per_unit": DECIMAL,
            "separated_per_unit": SIGNED,
            "separated": SIGNED,
            "whole_cost_per_unit": DECIMAL,
            "whole_keeps": {"type": "number", "exclusiveMinimum": 0, "maximum": 1},
            "unsold_share": {"type": "number", "minimum": 0, "maximum": 1},
            "unsold_weight": DECIMAL,
            "terms": {"type": "array", "minItems": 1, "items": _TERM},
            "at": {"anyOf": [_AT, {"type": "null"}]},
            "days": _NUMBER,
            "takes": {"type": "array", "minItems": 1, "items": _TAKES},
            "say": TEXT,
            "assumptions": {"type": "array", "items": TEXT},
        }
    ),
}

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {"whole": _PROBLEM, "whole.plan": _PLAN}
