"""JSON Schema of a board to be worked out and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.equation_reading import MOST_CREDITS, MOST_CUTS, MOST_ENDINGS, UNITS

__all__ = ["SCHEMAS"]

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^[+-]?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_MAYBE_SIGNED = {"anyOf": [_SIGNED, {"type": "null"}]}
_TEXT = {"type": "string"}
_MAYBE_TEXT = {"type": ["string", "null"]}
_NUMBER = {"type": "number"}
_MAYBE_NUMBER = {"type": ["number", "null"]}
_MAYBE_FLAG = {"type": ["boolean", "null"]}


def _object(required: str, properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "required": required.split(),
        "properties": properties,
        "additionalProperties": False,
    }


def _maybe_list(item: dict[str, Any], most: int) -> dict[str, Any]:
    return {"type": ["array", "null"], "maxItems": most, "items": item}


_COST = _object(
    "bought",
    {"bought": _DECIMAL, "haulage": _MAYBE_DECIMAL, "labour_minutes": _MAYBE_DECIMAL,
     "labour_per_hour": _MAYBE_DECIMAL, "other": _MAYBE_DECIMAL},
)  # fmt: skip
_CUT = _object(
    "weight",
    {"id": _MAYBE_TEXT, "name": _MAYBE_TEXT, "weight": _DECIMAL,
     "shrink": {"type": ["number", "null"], "minimum": 0, "maximum": 0.95},
     "relative": {"type": ["number", "null"], "minimum": 0.001, "maximum": 1000},
     "price": _MAYBE_DECIMAL, "fixed": _MAYBE_DECIMAL, "floor": _MAYBE_DECIMAL,
     "cap": _MAYBE_DECIMAL, "sold": _MAYBE_DECIMAL, "extra_cost_per_unit": _MAYBE_DECIMAL,
     "answers": {"type": ["boolean", "null"]}},
) | {"anyOf": [{"required": ["id"]}, {"required": ["name"]}]}  # fmt: skip
_ENDINGS = {
    "anyOf": [
        {"type": "null"},
        _object("step", {"step": _DECIMAL}),
        _object(
            "of", {"of": {"type": "array", "minItems": 1, "maxItems": MOST_ENDINGS,
                          "items": _DECIMAL}}),
    ]
}  # fmt: skip

_PROBLEM = {
    "$schema": _DRAFT,
    "title": "collop.chalk/1",
    **_object(
        "schema cost margin cuts",
        {
            "schema": {"const": "collop.chalk/1"},
            "name": _TEXT,
            "currency": {"type": "string", "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even"]},
            "unit": {"enum": list(UNITS)},
            "cost": _COST,
            "margin": {"type": "number", "minimum": 0, "maximum": 0.95},
            "cuts": {"type": "array", "minItems": 1, "maxItems": MOST_CUTS, "items": _CUT},
            "credits": _maybe_list(
                _object("name weight",
                        {"name": _TEXT, "weight": _DECIMAL, "value_per_unit": _MAYBE_DECIMAL}),
                MOST_CREDITS),
            "start_weight": _MAYBE_DECIMAL,
            "loss_weight": _MAYBE_DECIMAL,
            "tolerance": _MAYBE_DECIMAL,
            "endings": _ENDINGS,
            "pulls": _maybe_list(_object("id by", {"id": _TEXT, "by": _SIGNED}), MOST_CUTS),
        },
    ),
}  # fmt: skip

_PLAN_CUT = {
    "id": _TEXT, "name": _TEXT, "weight": _DECIMAL, "sells": _DECIMAL,
    "relative": _MAYBE_NUMBER, "exact": _DECIMAL, "price": _DECIMAL,
    "why": {"enum": ["free", "fixed", "floor", "cap"]}, "present": _MAYBE_DECIMAL,
    "change": _MAYBE_SIGNED, "revenue": _DECIMAL, "sold": _MAYBE_DECIMAL,
    "sold_share": _MAYBE_NUMBER,
}  # fmt: skip
_PLAN_PULL = {
    "id": _TEXT, "by": _SIGNED, "to": _DECIMAL, "loses": _SIGNED,
    "alone": {"type": "array", "items": _object(
        "id name up", {"id": _TEXT, "name": _TEXT, "up": _SIGNED})},
    "together": {"type": "array", "items": _object("id up", {"id": _TEXT, "up": _SIGNED})},
    "more_weight": _MAYBE_SIGNED, "more_is_there": {"type": "boolean"}, "say": _TEXT,
}  # fmt: skip
_PRESENT = {"revenue": _DECIMAL, "margin": _MAYBE_NUMBER, "short_by": _MAYBE_DECIMAL}
_PLAN = {
    "schema": {"const": "collop.chalk.plan/1"},
    "name": _TEXT,
    "currency": _TEXT,
    "unit": {"enum": list(UNITS)},
    "cost": _DECIMAL,
    "credit_value": _DECIMAL,
    "needed": _DECIMAL,
    "base": _MAYBE_DECIMAL,
    "cuts": {"type": "array", "minItems": 1,
             "items": _object(" ".join(_PLAN_CUT), _PLAN_CUT)},
    "revenue": _DECIMAL,
    "margin": _MAYBE_NUMBER,
    "over": _DECIMAL,
    "step_on_smallest": _MAYBE_DECIMAL,
    "reached": {"type": "boolean"},
    "short_by": _MAYBE_DECIMAL,
    "closes": _MAYBE_FLAG,
    "loss_weight": _MAYBE_DECIMAL,
    "gap_weight": _MAYBE_SIGNED,
    "present": {"anyOf": [_object(" ".join(_PRESENT), _PRESENT), {"type": "null"}]},
    "earned": _MAYBE_DECIMAL,
    "pulls": {"type": "array", "items": _object(" ".join(_PLAN_PULL), _PLAN_PULL)},
    "assumptions": {"type": "array", "items": _TEXT},
}  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "chalk": _PROBLEM,
    "chalk.plan": {
        "$schema": _DRAFT,
        "title": "collop.chalk.plan/1",
        **_object(" ".join(_PLAN), _PLAN),
    },
}
