"""JSON Schema of a mark-down and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.amounts import UNITS
from collop.chalk.markdown_reading import AIMS, MOST_ENDINGS, MOST_PERIODS
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


def _share(high: float) -> dict[str, Any]:
    return {"type": ["number", "null"], "minimum": 0, "maximum": high}


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [schema, {"type": "null"}]}


_CONVERT = object_of(
    "price",
    {"to": MAYBE_TEXT, "price": DECIMAL, "yield": _share(1.5),
     "labour_per_unit": MAYBE_DECIMAL, "takes": MAYBE_DECIMAL},
)  # fmt: skip
_FREEZE = object_of(
    "price",
    {"price": DECIMAL, "yield": _share(1), "cost_per_unit": MAYBE_DECIMAL,
     "chance_sold": _share(1), "takes": MAYBE_DECIMAL},
)  # fmt: skip
_ENDING = {"type": "string", "pattern": r"^0?(\.[0-9]+)?$", "minLength": 1}
_ENDINGS = {
    "anyOf": [
        object_of("step", {"step": DECIMAL, "of": {"type": "null"}}),
        object_of("of", {"step": {"type": "null"}, "of": {
            "type": "array", "minItems": 1, "maxItems": MOST_ENDINGS, "items": _ENDING}}),
        {"type": "null"},
    ]
}  # fmt: skip
_PROBLEM = {
    "$schema": DRAFT,
    "title": "collop.markdown/1",
    **object_of(
        "schema stock price usual elasticity",
        {
            "schema": {"const": "collop.markdown/1"},
            "name": MAYBE_TEXT,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "stock": DECIMAL,
            "price": DECIMAL,
            "usual": DECIMAL,
            "elasticity": {"type": "number", "minimum": 0.05, "maximum": 20},
            "salvage_per_unit": MAYBE_DECIMAL,
            "periods": {"type": ["integer", "null"], "minimum": 0, "maximum": MOST_PERIODS},
            "first_share": {"type": ["number", "null"], "minimum": 0.01, "maximum": 1},
            "floor": MAYBE_DECIMAL,
            "cap": MAYBE_DECIMAL,
            "convert": _or_null(_CONVERT),
            "freeze": _or_null(_FREEZE),
            "demand_cv": _share(2),
            "endings": _ENDINGS,
            "aim": {"enum": [*AIMS, None]},
        },
    ),
}

_WAY = {"enum": ["convert", "freeze", "salvage", "bin"]}
_PLAN = {
    "$schema": DRAFT,
    "title": "collop.markdown.plan/1",
    **all_of(
        {
            "schema": {"const": "collop.markdown.plan/1"},
            "name": TEXT,
            "currency": TEXT,
            "unit": {"enum": list(UNITS)},
            "stock": DECIMAL,
            "price": DECIMAL,
            "price_now": MAYBE_DECIMAL,
            "sell_now": DECIMAL,
            "steps": {
                "type": "array",
                "maxItems": MOST_PERIODS,
                "items": all_of(
                    {"period": {"type": "integer", "minimum": 1}, "price": DECIMAL,
                     "sells": DECIMAL, "left": DECIMAL}
                ),
            },
            "rest": {
                "type": "array",
                "items": all_of(
                    {"way": _WAY, "to": TEXT, "weight": DECIMAL, "value": DECIMAL}
                ),
            },
            "value": DECIMAL,
            "clearing": all_of({"price": MAYBE_DECIMAL, "value": DECIMAL}),
            "as_is": all_of({"value": DECIMAL}),
            "gain": SIGNED,
            "ways": {
                "type": "array",
                "minItems": 1,
                "items": all_of(
                    {"way": _WAY, "to": TEXT, "value": SIGNED, "takes": MAYBE_DECIMAL}
                ),
            },
            "aim": {"enum": list(AIMS)},
            "say": TEXT,
            "assumptions": {"type": "array", "items": TEXT},
        }
    ),
}  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {"markdown": _PROBLEM, "markdown.plan": _PLAN}
