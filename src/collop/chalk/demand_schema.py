"""JSON Schema of a cut's demand and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.amounts import UNITS
from collop.chalk.demand_reading import LEAST_SD, MOST_ELASTICITY, MOST_SALES, MOST_SD, STATUSES
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

_NUMBER = {"type": "number"}


_PRIOR = object_of(
    "elasticity sd",
    {
        "elasticity": {"type": "number", "minimum": 0.01, "maximum": MOST_ELASTICITY},
        "sd": {"type": "number", "minimum": LEAST_SD, "maximum": MOST_SD},
        "source": MAYBE_TEXT,
        "status": {"enum": [*STATUSES, None]},
        "say": MAYBE_TEXT,
        "rows": {"type": ["array", "null"]},
    },
)
_SALE = object_of(
    "price quantity",
    {
        "label": MAYBE_TEXT,
        "price": DECIMAL,
        "quantity": DECIMAL,
        "sold_out": {"type": ["boolean", "null"]},
    },
)
_PROBLEM = {
    "$schema": DRAFT,
    "title": "collop.demand/1",
    **object_of(
        "schema",
        {
            "schema": {"const": "collop.demand/1"},
            "name": MAYBE_TEXT,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "sales": {"type": ["array", "null"], "maxItems": MOST_SALES, "items": _SALE},
            "prior": {"anyOf": [_PRIOR, {"type": "null"}]},
            "species": MAYBE_TEXT,
            "cut": MAYBE_TEXT,
            "enough": {"type": ["integer", "null"], "minimum": 3, "maximum": 1000},
        },
    ),
}
_OWN = all_of(
    {"elasticity": _NUMBER, "sd": _NUMBER, "cautious_sd": _NUMBER, "noise": _NUMBER},
)
_PLAN = all_of(
    {
        "schema": {"const": "collop.demand.plan/1"},
        "name": MAYBE_TEXT,
        "currency": TEXT,
        "unit": {"enum": list(UNITS)},
        "elasticity": {"type": "number", "minimum": 0.1, "maximum": 20},
        "sd": {"type": "number", "minimum": 0},
        "price": MAYBE_DECIMAL,
        "quantity": MAYBE_DECIMAL,
        "own_weight": {"type": "number", "minimum": 0, "maximum": 1},
        "basis": {"enum": ["own", "shrunk", "published"]},
        "points": {"type": "integer", "minimum": 0},
        "own": {"anyOf": [_OWN, {"type": "null"}]},
        "prior": all_of(
            {
                "elasticity": _NUMBER,
                "sd": _NUMBER,
                "source": TEXT,
                "status": {"enum": list(STATUSES)},
                "say": TEXT,
            }
        ),
        "say": TEXT,
        "assumptions": {"type": "array", "items": TEXT},
    }
)

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "demand": _PROBLEM,
    "demand.plan": {"$schema": DRAFT, "title": "collop.demand.plan/1", **_PLAN},
}
