"""JSON Schema of how much to put out and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.putting_out_reading import MOST_SEEN

__all__ = ["SCHEMAS"]

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_TEXT = {"type": "string"}
_UNIT = {"type": "string", "minLength": 1, "maxLength": 20}
_AMOUNT = {"anyOf": [_DECIMAL, {"type": "number", "minimum": 0, "maximum": 1_000_000}]}
_CHANCE = {"type": "number", "minimum": 0, "maximum": 1}


def _object(required: str, properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "required": required.split(),
        "properties": properties,
        "additionalProperties": False,
    }


def _all_of(properties: dict[str, Any]) -> dict[str, Any]:
    return _object(" ".join(properties), properties)


_DEMANDS = {
    "oneOf": [
        _all_of({"kind": {"const": "normal"}, "mean": _AMOUNT, "sd": _AMOUNT}),
        _all_of({"kind": {"const": "uniform"}, "low": _AMOUNT, "high": _AMOUNT}),
        _all_of({"kind": {"const": "poisson"}, "mean": _AMOUNT}),
        _all_of(
            {
                "kind": {"const": "counts"},
                "seen": {"type": "array", "minItems": 1, "maxItems": MOST_SEEN, "items": _AMOUNT},
            }
        ),
    ]
}
_PROBLEM = {
    "$schema": _DRAFT,
    "title": "collop.putout/1",
    **_object(
        "schema price cost demand",
        {
            "schema": {"const": "collop.putout/1"},
            "name": {"type": ["string", "null"]},
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"anyOf": [_UNIT, {"type": "null"}]},
            "price": _DECIMAL,
            "cost": _DECIMAL,
            "salvage": _MAYBE_DECIMAL,
            "demand": _DEMANDS,
            "step": _MAYBE_DECIMAL,
        },
    ),
}
_PLAN = {
    "schema": {"const": "collop.putout.plan/1"},
    "name": _TEXT,
    "currency": _TEXT,
    "unit": _UNIT,
    "underage": _DECIMAL,
    "overage": _DECIMAL,
    "critical_ratio": _CHANCE,
    "z": {"type": ["number", "null"]},
    "quantity": _DECIMAL,
    "put_out": _DECIMAL,
    "expected_sold": _DECIMAL,
    "expected_left": _DECIMAL,
    "expected_profit": _SIGNED,
    "chance_enough": _CHANCE,
    "say": _TEXT,
    "assumptions": {"type": "array", "items": _TEXT},
}

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "putout": _PROBLEM,
    "putout.plan": {"$schema": _DRAFT, "title": "collop.putout.plan/1", **_all_of(_PLAN)},
}
