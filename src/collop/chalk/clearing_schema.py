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

__all__ = ["SCHEMAS"]

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_MAYBE_SIGNED = {"anyOf": [_SIGNED, {"type": "null"}]}
_TEXT = {"type": "string"}
_NAME = {"type": "string", "minLength": 1}
_MAYBE_TEXT = {"type": ["string", "null"]}


def _object(required: str, properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "required": required.split(),
        "properties": properties,
        "additionalProperties": False,
    }


def _all_of(properties: dict[str, Any]) -> dict[str, Any]:
    return _object(" ".join(properties), properties)


def _list(most: int, items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "maxItems": most, "items": items}


_CUT = _object(
    "id price quantity elasticity",
    {
        "id": _NAME,
        "name": _MAYBE_TEXT,
        "price": _DECIMAL,
        "quantity": _DECIMAL,
        "elasticity": {
            "type": "number",
            "minimum": LEAST_ELASTICITY,
            "maximum": MOST_ELASTICITY,
        },
        "cap": _MAYBE_DECIMAL,
        "floor": _MAYBE_DECIMAL,
        "making_cost": _MAYBE_DECIMAL,
        "on_hand": _MAYBE_DECIMAL,
    },
)
_ACTIVITY = _object(
    "name from gives",
    {
        "name": _NAME,
        "from": _TEXT,
        "gives": {
            "type": "object",
            "minProperties": 1,
            "additionalProperties": {
                "type": "number",
                "minimum": LEAST_YIELD,
                "maximum": MOST_YIELD,
            },
        },
        "labour_per_unit": _MAYBE_DECIMAL,
    },
)
_PROBLEM = {
    "$schema": _DRAFT,
    "title": "collop.clearing/1",
    **_object(
        "schema cuts",
        {
            "schema": {"const": "collop.clearing/1"},
            "name": _MAYBE_TEXT,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "supply": {
                **_list(MOST_SUPPLIES, _object("name weight", {"name": _NAME, "weight": _DECIMAL})),
                "type": ["array", "null"],
            },
            "cuts": {**_list(MOST_CUTS, _CUT), "minItems": 1},
            "activities": {**_list(MOST_ACTIVITIES, _ACTIVITY), "type": ["array", "null"]},
            "cap_factor": {"type": ["number", "null"], "minimum": LEAST_CAP, "maximum": MOST_CAP},
            "animals": {"type": ["number", "null"], "minimum": 0.01, "maximum": 100_000},
        },
    ),
}
_PLAN = _all_of(
    {
        "schema": {"const": "collop.clearing.plan/1"},
        "name": _MAYBE_TEXT,
        "currency": _TEXT,
        "unit": {"enum": list(UNITS)},
        "contribution": _SIGNED,
        "cuts": _list(
            MOST_CUTS,
            _all_of(
                {
                    "id": _TEXT,
                    "name": _TEXT,
                    "present": _DECIMAL,
                    "price": _MAYBE_DECIMAL,
                    "exact": _MAYBE_DECIMAL,
                    "quantity": _DECIMAL,
                    "unsold": _DECIMAL,
                    "worth": _MAYBE_DECIMAL,
                    "binds": {"enum": ["none", "cap", "floor", "cleared"]},
                }
            ),
        ),
        "supply": _list(
            MOST_SUPPLIES,
            _all_of({"name": _TEXT, "worth": _DECIMAL, "used": _DECIMAL, "left": _DECIMAL}),
        ),
        "activities": _list(MOST_ACTIVITIES, _all_of({"name": _TEXT, "weight": _DECIMAL})),
        "one_more": _MAYBE_SIGNED,
        "proof": _all_of({"status": {"const": "proven"}, "objective": _SIGNED, "gap": _DECIMAL}),
        "assumptions": {"type": "array", "items": _TEXT},
    }
)

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "clearing": _PROBLEM,
    "clearing.plan": {"$schema": _DRAFT, "title": "collop.clearing.plan/1", **_PLAN},
}
