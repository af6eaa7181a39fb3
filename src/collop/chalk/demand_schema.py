"""JSON Schema of a cut's demand and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.amounts import UNITS
from collop.chalk.demand_reading import LEAST_SD, MOST_ELASTICITY, MOST_SALES, MOST_SD, STATUSES

__all__ = ["SCHEMAS"]

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_TEXT = {"type": "string"}
_MAYBE_TEXT = {"type": ["string", "null"]}
_NUMBER = {"type": "number"}


def _object(required: str, properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "required": required.split(),
        "properties": properties,
        "additionalProperties": False,
    }


def _all_of(properties: dict[str, Any]) -> dict[str, Any]:
    return _object(" ".join(properties), properties)


_PRIOR = _object(
    "elasticity sd",
    {
        "elasticity": {"type": "number", "minimum": 0.01, "maximum": MOST_ELASTICITY},
        "sd": {"type": "number", "minimum": LEAST_SD, "maximum": MOST_SD},
        "source": _MAYBE_TEXT,
        "status": {"enum": [*STATUSES, None]},
        "say": _MAYBE_TEXT,
        "rows": {"type": ["array", "null"]},
    },
)
_SALE = _object(
    "price quantity",
    {
        "label": _MAYBE_TEXT,
        "price": _DECIMAL,
        "quantity": _DECIMAL,
        "sold_out": {"type": ["boolean", "null"]},
    },
)
_PROBLEM = {
    "$schema": _DRAFT,
    "title": "collop.demand/1",
    **_object(
        "schema",
        {
            "schema": {"const": "collop.demand/1"},
            "name": _MAYBE_TEXT,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "sales": {"type": ["array", "null"], "maxItems": MOST_SALES, "items": _SALE},
            "prior": {"anyOf": [_PRIOR, {"type": "null"}]},
            "species": _MAYBE_TEXT,
            "cut": _MAYBE_TEXT,
            "enough": {"type": ["integer", "null"], "minimum": 3, "maximum": 1000},
        },
    ),
}
_OWN = _all_of(
    {"elasticity": _NUMBER, "sd": _NUMBER, "cautious_sd": _NUMBER, "noise": _NUMBER},
)
_PLAN = _all_of(
    {
        "schema": {"const": "collop.demand.plan/1"},
        "name": _MAYBE_TEXT,
        "currency": _TEXT,
        "unit": {"enum": list(UNITS)},
        "elasticity": {"type": "number", "minimum": 0.1, "maximum": 20},
        "sd": {"type": "number", "minimum": 0},
        "price": _MAYBE_DECIMAL,
        "quantity": _MAYBE_DECIMAL,
        "own_weight": {"type": "number", "minimum": 0, "maximum": 1},
        "basis": {"enum": ["own", "shrunk", "published"]},
        "points": {"type": "integer", "minimum": 0},
        "own": {"anyOf": [_OWN, {"type": "null"}]},
        "prior": _all_of(
            {
                "elasticity": _NUMBER,
                "sd": _NUMBER,
                "source": _TEXT,
                "status": {"enum": list(STATUSES)},
                "say": _TEXT,
            }
        ),
        "say": _TEXT,
        "assumptions": {"type": "array", "items": _TEXT},
    }
)

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "demand": _PROBLEM,
    "demand.plan": {"$schema": _DRAFT, "title": "collop.demand.plan/1", **_PLAN},
}
