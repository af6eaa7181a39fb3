"""JSON Schema of clearing prices and their plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.amounts import UNITS
from collop.chalk.clearing_reading import (
    LEAST_CAP,
    LEAST_ELASTICITY,
    LEAST_YIELD,
    MOST_ACTIVITIES,
    MOST_CAP,
    MOST_CUTS,
    MOST_ELASTICITY,
    MOST_SUPPLIES,
    MOST_YIELD,
)
from collop.chalk.schema_parts import (
    DECIMAL,
    DRAFT,
    MAYBE_DECIMAL,
    MAYBE_TEXT,
    SIGNED,
    TEXT,
    all_of,
    object_of,
)

__all__ = ["SCHEMAS"]

_MAYBE_SIGNED = {"anyOf": [SIGNED, {"type": "null"}]}
_NAME = {"type": "string", "minLength": 1}


def _list(most: int, items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "maxItems": most, "items": items}


_CUT = object_of(
    "id price quantity elasticity",
    {
        "id": _NAME,
        "name": MAYBE_TEXT,
        "price": DECIMAL,
        "quantity": DECIMAL,
        "elasticity": {
            "type": "number",
            "minimum": LEAST_ELASTICITY,
            "maximum": MOST_ELASTICITY,
        },
        "cap": MAYBE_DECIMAL,
        "floor": MAYBE_DECIMAL,
        "making_cost": MAYBE_DECIMAL,
        "on_hand": MAYBE_DECIMAL,
    },
)
_ACTIVITY = object_of(
    "name from gives",
    {
        "name": _NAME,
        "from": TEXT,
        "gives": {
            "type": "object",
            "minProperties": 1,
            "additionalProperties": {
                "type": "number",
                "minimum": LEAST_YIELD,
                "maximum": MOST_YIELD,
            },
        },
        "labour_per_unit": MAYBE_DECIMAL,
    },
)
_PROBLEM = {
    "$schema": DRAFT,
    "title": "collop.clearing/1",
    **object_of(
        "schema cuts",
        {
            "schema": {"const": "collop.clearing/1"},
            "name": MAYBE_TEXT,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "supply": {
                **_list(
                    MOST_SUPPLIES, object_of("name weight", {"name": _NAME, "weight": DECIMAL})
                ),
                "type": ["array", "null"],
            },
            "cuts": {**_list(MOST_CUTS, _CUT), "minItems": 1},
            "activities": {**_list(MOST_ACTIVITIES, _ACTIVITY), "type": ["array", "null"]},
            "cap_factor": {"type": ["number", "null"], "minimum": LEAST_CAP, "maximum": MOST_CAP},
            "animals": {"type": ["number", "null"], "minimum": 0.01, "maximum": 100_000},
        },
    ),
}
_PLAN = all_of(
    {
        "schema": {"const": "collop.clearing.plan/1"},
        "name": MAYBE_TEXT,
        "currency": TEXT,
        "unit": {"enum": list(UNITS)},
        "contribution": SIGNED,
        "cuts": _list(
            MOST_CUTS,
            all_of(
                {
                    "id": TEXT,
                    "name": TEXT,
                    "present": DECIMAL,
                    "price": MAYBE_DECIMAL,
                    "exact": MAYBE_DECIMAL,
                    "quantity": DECIMAL,
                    "unsold": DECIMAL,
                    "worth": MAYBE_DECIMAL,
                    "binds": {"enum": ["none", "cap", "floor", "cleared"]},
                }
            ),
        ),
        "supply": _list(
            MOST_SUPPLIES,
            all_of({"name": TEXT, "worth": DECIMAL, "used": DECIMAL, "left": DECIMAL}),
        ),
        "activities": _list(MOST_ACTIVITIES, all_of({"name": TEXT, "weight": DECIMAL})),
        "one_more": _MAYBE_SIGNED,
        "proof": all_of({"status": {"const": "proven"}, "objective": SIGNED, "gap": DECIMAL}),
        "assumptions": {"type": "array", "items": TEXT},
    }
)

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "clearing": _PROBLEM,
    "clearing.plan": {"$schema": DRAFT, "title": "collop.clearing.plan/1", **_PLAN},
}
