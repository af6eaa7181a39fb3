"""JSON Schema of how much to put out and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.putting_out_reading import MOST_SEEN
from collop.chalk.schema_parts import DECIMAL, DRAFT, MAYBE_DECIMAL, SIGNED, TEXT, all_of, object_of

__all__ = ["SCHEMAS"]

_UNIT = {"type": "string", "minLength": 1, "maxLength": 20}
_AMOUNT = {"anyOf": [DECIMAL, {"type": "number", "minimum": 0, "maximum": 1_000_000}]}
_CHANCE = {"type": "number", "minimum": 0, "maximum": 1}


_DEMANDS = {
    "oneOf": [
        all_of({"kind": {"const": "normal"}, "mean": _AMOUNT, "sd": _AMOUNT}),
        all_of({"kind": {"const": "uniform"}, "low": _AMOUNT, "high": _AMOUNT}),
        all_of({"kind": {"const": "poisson"}, "mean": _AMOUNT}),
        all_of(
            {
                "kind": {"const": "counts"},
                "seen": {"type": "array", "minItems": 1, "maxItems": MOST_SEEN, "items": _AMOUNT},
            }
        ),
    ]
}
_PROBLEM = {
    "$schema": DRAFT,
    "title": "collop.putout/1",
    **object_of(
        "schema price cost demand",
        {
            "schema": {"const": "collop.putout/1"},
            "name": {"type": ["string", "null"]},
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"anyOf": [_UNIT, {"type": "null"}]},
            "price": DECIMAL,
            "cost": DECIMAL,
            "salvage": MAYBE_DECIMAL,
            "demand": _DEMANDS,
            "step": MAYBE_DECIMAL,
        },
    ),
}
_PLAN = {
    "schema": {"const": "collop.putout.plan/1"},
    "name": TEXT,
    "currency": TEXT,
    "unit": _UNIT,
    "underage": DECIMAL,
    "overage": DECIMAL,
    "critical_ratio": _CHANCE,
    "z": {"type": ["number", "null"]},
    "quantity": DECIMAL,
    "put_out": DECIMAL,
    "expected_sold": DECIMAL,
    "expected_left": DECIMAL,
    "expected_profit": SIGNED,
    "chance_enough": _CHANCE,
    "say": TEXT,
    "assumptions": {"type": "array", "items": TEXT},
}

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "putout": _PROBLEM,
    "putout.plan": {"$schema": DRAFT, "title": "collop.putout.plan/1", **all_of(_PLAN)},
}
