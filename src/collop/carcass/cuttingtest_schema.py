"""JSON Schema of a cutting test and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.carcass.cuttingtest_amounts import UNITS
from collop.carcass.cuttingtest_sheet import MOST_LINES, SHARES
from collop.wire import SCHEMA_DRAFT, object_of

__all__ = ["SCHEMAS"]

_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_TEXT = {"type": "string"}
_UNIT = {"enum": list(UNITS)}
_MAYBE_UNIT = {"enum": [*UNITS, None]}
_NUMBER = {"type": "number"}
_MAYBE_NUMBER = {"type": ["number", "null"]}


def _percent(high: float) -> dict[str, Any]:
    return {"type": ["number", "null"], "minimum": 0, "maximum": high}


_LINE = object_of(
    "part weight",
    {"part": _TEXT, "weight": _DECIMAL, "unit": _MAYBE_UNIT, "value_per_unit": _MAYBE_DECIMAL,
     "per": _MAYBE_UNIT},
)  # fmt: skip
_PRODUCT = object_of(
    "part",
    {"part": _TEXT, "weight": _MAYBE_DECIMAL, "unit": _MAYBE_UNIT,
     "price_per_unit": _MAYBE_DECIMAL, "target_margin_pct": _percent(99),
     "target_markup_pct": _percent(10_000)},
)  # fmt: skip
_PLATE = object_of(
    "",
    {"accompaniments": _MAYBE_DECIMAL, "waste_pct": _percent(100),
     "food_cost_pct": {"type": ["number", "null"], "minimum": 1, "maximum": 100}},
)  # fmt: skip
_LINES = {"type": "array", "maxItems": MOST_LINES, "items": _LINE}

_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": "collop.cuttingtest/1",
    **object_of(
        "schema bought products",
        {
            "schema": {"const": "collop.cuttingtest/1"},
            "name": _TEXT,
            "currency": {"type": "string", "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even"]},
            "bought": object_of(
                "weight price_per_unit",
                {"weight": _DECIMAL, "unit": _MAYBE_UNIT, "price_per_unit": _DECIMAL,
                 "per": _MAYBE_UNIT},
            ),
            "credits": _LINES,
            "loss_weight": _MAYBE_DECIMAL,
            "products": {"type": "array", "minItems": 1, "maxItems": MOST_LINES, "items": _PRODUCT},
            "share_by": {"enum": list(SHARES)},
            "cooked_weight": _MAYBE_DECIMAL,
            "after_cooking": _LINES,
            "portion": {"anyOf": [object_of("size", {"size": _DECIMAL, "unit": _MAYBE_UNIT}),
                                  {"type": "null"}]},
            "plate": {"anyOf": [_PLATE, {"type": "null"}]},
            "new_price_per_unit": _MAYBE_DECIMAL,
            "tolerance": _MAYBE_DECIMAL,
        },
    ),
}  # fmt: skip

_EARNED = {"margin_pct": _MAYBE_NUMBER, "markup_pct": _MAYBE_NUMBER}
_OFF = {"type": "array", "items": object_of(
    "part weight value yield_pct",
    {"part": _TEXT, "weight": _DECIMAL, "value": _DECIMAL, "yield_pct": _NUMBER})}  # fmt: skip
_PLAN_ALWAYS = {
    "schema": {"const": "collop.cuttingtest.plan/1"},
    "name": _TEXT,
    "currency": _TEXT,
    "unit": _UNIT,
    "price_unit": _UNIT,
    "as_purchased_cost": _DECIMAL,
    "credit_value": _DECIMAL,
    "net_cost": _DECIMAL,
    "net_weight": _DECIMAL,
    "cost_per_unit": _DECIMAL,
    "yield_pct": _NUMBER,
    "cost_factor": _NUMBER,
    "closes": {"type": "boolean"},
    "gap_weight": _SIGNED,
    "likely": {"type": ["string", "null"]},
    "loss_weight": _DECIMAL,
    "loss_pct": _NUMBER,
    "share_by": {"enum": list(SHARES)},
    "credits": _OFF,
    "products": {"type": "array", "minItems": 1, "items": object_of(
        "part weight yield_pct cost cost_per_unit",
        {"part": _TEXT, "weight": _DECIMAL, "yield_pct": _NUMBER, "cost": _DECIMAL,
         "cost_per_unit": _DECIMAL, "price_per_unit": _DECIMAL, "sales_value": _DECIMAL,
         **_EARNED})},
}  # fmt: skip
_PLAN_SOMETIMES = {
    "new_cost_per_unit": _DECIMAL,
    "salable_weight": _DECIMAL,
    "cooked_cost_per_unit": _DECIMAL,
    "cooked_cost_factor": _NUMBER,
    "cooked_yield_pct": _NUMBER,
    "cooking_loss_weight": _DECIMAL,
    "cooking_loss_pct": _NUMBER,
    "after_cooking": _OFF,
    "portion_cost": _DECIMAL,
    "portion_cost_factor": _NUMBER,
    "true_cost": _DECIMAL,
    "menu_price": _DECIMAL,
    "sales_value": _DECIMAL,
    "gross_profit": _SIGNED,
    **_EARNED,
}

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "cuttingtest": _PROBLEM,
    "cuttingtest.plan": {
        "$schema": SCHEMA_DRAFT,
        "title": "collop.cuttingtest.plan/1",
        **object_of(" ".join(_PLAN_ALWAYS), _PLAN_ALWAYS | _PLAN_SOMETIMES),
    },
}
