"""JSON Schema of what to count and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.amounts import UNITS
from collop.chalk.counting_reading import MOST_GAPS, MOST_LINES
from collop.chalk.schema_parts import (
    DECIMAL,
    DRAFT,
    MAYBE_DECIMAL,
    MAYBE_TEXT,
    TEXT,
    all_of,
    object_of,
)

__all__ = ["SCHEMAS"]

_GAP = object_of("gap handled", {"gap": DECIMAL, "handled": DECIMAL})
_LINE = object_of(
    "id on_hand price",
    {
        "id": {"type": "string", "minLength": 1},
        "name": MAYBE_TEXT,
        "on_hand": DECIMAL,
        "price": DECIMAL,
        "days": {"type": ["integer", "null"], "minimum": 0, "maximum": 100_000},
        "went": MAYBE_DECIMAL,
        "passes": MAYBE_DECIMAL,
        "skipped": {"type": ["boolean"]},
        "gaps": {"type": ["array", "null"], "maxItems": MOST_GAPS, "items": _GAP},
    },
)
_PROBLEM = {
    "$schema": DRAFT,
    "title": "collop.counting/1",
    **object_of(
        "schema lines",
        {
            "schema": {"const": "collop.counting/1"},
            "name": MAYBE_TEXT,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "most": {"type": ["integer", "null"], "minimum": 1, "maximum": MOST_LINES},
            "prior_share": {"type": ["number", "null"], "minimum": 0, "maximum": 1},
            "prior_weight": MAYBE_DECIMAL,
            "lines": {"type": "array", "maxItems": MOST_LINES, "items": _LINE},
        },
    ),
}
_SHARE = {"type": "number", "minimum": 0, "maximum": 1}
_PLAN = all_of(
    {
        "schema": {"const": "collop.counting.plan/1"},
        "name": MAYBE_TEXT,
        "currency": TEXT,
        "unit": {"enum": list(UNITS)},
        "share": _SHARE,
        "counts": {"type": "integer", "minimum": 0},
        "lines": {
            "type": "array",
            "maxItems": MOST_LINES,
            "items": all_of(
                {
                    "id": TEXT,
                    "name": TEXT,
                    "on_hand": DECIMAL,
                    "skipped": {"type": "boolean"},
                    "share": _SHARE,
                    "handled": DECIMAL,
                    "astray": DECIMAL,
                    "passes": DECIMAL,
                    "at_risk": DECIMAL,
                    "say": TEXT,
                }
            ),
        },
        "rest": {
            "type": "array",
            "maxItems": MOST_LINES,
            "items": all_of({"id": TEXT, "at_risk": DECIMAL}),
        },
        "at_risk": DECIMAL,
        "covered": DECIMAL,
        "assumptions": {"type": "array", "items": TEXT},
    }
)

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "counting": _PROBLEM,
    "counting.plan": {"$schema": DRAFT, "title": "collop.counting.plan/1", **_PLAN},
}
