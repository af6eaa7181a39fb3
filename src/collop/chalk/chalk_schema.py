"""JSON Schema of a board to be worked out and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.equation_reading import MOST_CREDITS, MOST_CUTS, MOST_ENDINGS, UNITS
from collop.chalk.schema_parts import (
    DECIMAL,
    DRAFT,
    MAYBE_DECIMAL,
    MAYBE_NUMBER,
    MAYBE_TEXT,
    TEXT,
    object_of,
)

__all__ = ["SCHEMAS"]

_SIGNED = {"type": "string", "pattern": r"^[+-]?[0-9]+(\.[0-9]+)?$"}
_MAYBE_SIGNED = {"anyOf": [_SIGNED, {"type": "null"}]}
_NUMBER = {"type": "number"}
_MAYBE_FLAG = {"type": ["boolean", "null"]}


def _maybe_list(item: dict[str, Any], most: int) -> dict[str, Any]:
    return {"type": ["array", "null"], "maxItems": most, "items": item}


_COST = object_of(
    "bought",
    {"bought": DECIMAL, "haulage": MAYBE_DECIMAL, "labour_minutes": MAYBE_DECIMAL,
     "labour_per_hour": MAYBE_DECIMAL, "other": MAYBE_DECIMAL},
)  # fmt: skip
_CUT = object_of(
    "weight",
    {"id": MAYBE_TEXT, "name": MAYBE_TEXT, "weight": DECIMAL,
     "shrink": {"type": ["number", "null"], "minimum": 0, "maximum": 0.95},
     "relative": {"type": ["number", "null"], "minimum": 0.001, "maximum": 1000},
     "price": MAYBE_DECIMAL, "fixed": MAYBE_DECIMAL, "floor": MAYBE_DECIMAL,
     "cap": MAYBE_DECIMAL, "sold": MAYBE_DECIMAL, "extra_cost_per_unit": MAYBE_DECIMAL,
     "answers": {"type": ["boolean", "null"]}},
) | {"anyOf": [{"required": ["id"]}, {"required": ["name"]}]}  # fmt: skip
_ENDINGS = {
    "anyOf": [
        {"type": "null"},
        object_of("step", {"step": DECIMAL}),
        object_of(
            "of", {"of": {"type": "array", "minItems": 1, "maxItems": MOST_ENDINGS,
                          "items": DECIMAL}}),
    ]
}  # fmt: skip

_PROBLEM = {
    "$schema": DRAFT,
    "title": "collop.chalk/1",
    **object_of(
        "schema cost margin cuts",
        {
            "schema": {"const": "collop.chalk/1"},
            "name": TEXT,
            "currency": {"type": "string", "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even"]},
            "unit": {"enum": list(UNITS)},
            "cost": _COST,
            "margin": {"type": "number", "minimum": 0, "maximum": 0.95},
            "cuts": {"type": "array", "minItems": 1, "maxItems": MOST_CUTS, "items": _CUT},
            "credits": _maybe_list(
                object_of("name weight",
                        {"name": TEXT, "weight": DECIMAL, "value_per_unit": MAYBE_DECIMAL}),
                MOST_CREDITS),
            "start_weight": MAYBE_DECIMAL,
            "loss_weight": MAYBE_DECIMAL,
            "tolerance": MAYBE_DECIMAL,
            "endings": _ENDINGS,
            "pulls": _maybe_list(object_of("id by", {"id": TEXT, "by": _SIGNED}), MOST_CUTS),
        },
    ),
}  # fmt: skip

_PLAN_CUT = {
    "id": TEXT, "name": TEXT, "weight": DECIMAL, "sells": DECIMAL,
    "relative": MAYBE_NUMBER, "exact": DECIMAL, "price": DECIMAL,
    "why": {"enum": ["free", "fixed", "floor", "cap"]}, "present": MAYBE_DECIMAL,
    "change": _MAYBE_SIGNED, "revenue": DECIMAL, "sold": MAYBE_DECIMAL,
    "sold_share": MAYBE_NUMBER,
}  # fmt: skip
_PLAN_PULL = {
    "id": TEXT, "by": _SIGNED, "to": DECIMAL, "loses": _SIGNED,
    "alone": {"type": "array", "items": object_of(
        "id name up", {"id": TEXT, "name": TEXT, "up": _SIGNED})},
    "together": {"type": "array", "items": object_of("id up", {"id": TEXT, "up": _SIGNED})},
    "more_weight": _MAYBE_SIGNED, "more_is_there": {"type": "boolean"}, "say": TEXT,
}  # fmt: skip
_PRESENT = {"revenue": DECIMAL, "margin": MAYBE_NUMBER, "short_by": MAYBE_DECIMAL}
_PLAN = {
    "schema": {"const": "collop.chalk.plan/1"},
    "name": TEXT,
    "currency": TEXT,
    "unit": {"enum": list(UNITS)},
    "cost": DECIMAL,
    "credit_value": DECIMAL,
    "needed": DECIMAL,
    "base": MAYBE_DECIMAL,
    "cuts": {"type": "array", "minItems": 1,
             "items": object_of(" ".join(_PLAN_CUT), _PLAN_CUT)},
    "revenue": DECIMAL,
    "margin": MAYBE_NUMBER,
    "over": DECIMAL,
    "step_on_smallest": MAYBE_DECIMAL,
    "reached": {"type": "boolean"},
    "short_by": MAYBE_DECIMAL,
    "closes": _MAYBE_FLAG,
    "loss_weight": MAYBE_DECIMAL,
    "gap_weight": _MAYBE_SIGNED,
    "present": {"anyOf": [object_of(" ".join(_PRESENT), _PRESENT), {"type": "null"}]},
    "earned": MAYBE_DECIMAL,
    "pulls": {"type": "array", "items": object_of(" ".join(_PLAN_PULL), _PLAN_PULL)},
    "assumptions": {"type": "array", "items": TEXT},
}  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "chalk": _PROBLEM,
    "chalk.plan": {
        "$schema": DRAFT,
        "title": "collop.chalk.plan/1",
        **object_of(" ".join(_PLAN), _PLAN),
    },
}
