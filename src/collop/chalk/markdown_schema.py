"""JSON Schema of a mark-down and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.amounts import UNITS
from collop.chalk.markdown_reading import AIMS, MOST_ENDINGS, MOST_PERIODS

__all__ = ["SCHEMAS"]

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_TEXT = {"type": "string"}
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


def _share(high: float) -> dict[str, Any]:
    return {"type": ["number", "null"], "minimum": 0, "maximum": high}


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [schema, {"type": "null"}]}


_CONVERT = _object(
    "price",
    {"to": _MAYBE_TEXT, "price": _DECIMAL, "yield": _share(1.5),
     "labour_per_unit": _MAYBE_DECIMAL, "takes": _MAYBE_DECIMAL},
)  # fmt: skip
_FREEZE = _object(
    "price",
    {"price": _DECIMAL, "yield": _share(1), "cost_per_unit": _MAYBE_DECIMAL,
     "chance_sold": _share(1), "takes": _MAYBE_DECIMAL},
)  # fmt: skip
_ENDING = {"type": "string", "pattern": r"^0?(\.[0-9]+)?$", "minLength": 1}
_ENDINGS = {
    "anyOf": [
        _object("step", {"step": _DECIMAL, "of": {"type": "null"}}),
        _object("of", {"step": {"type": "null"}, "of": {
            "type": "array", "minItems": 1, "maxItems": MOST_ENDINGS, "items": _ENDING}}),
        {"type": "null"},
    ]
}  # fmt: skip
_PROBLEM = {
    "$schema": _DRAFT,
    "title": "collop.markdown/1",
    **_object(
        "schema stock price usual elasticity",
        {
            "schema": {"const": "collop.markdown/1"},
            "name": _MAYBE_TEXT,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "stock": _DECIMAL,
            "price": _DECIMAL,
            "usual": _DECIMAL,
            "elasticity": {"type": "number", "minimum": 0.05, "maximum": 20},
            "salvage_per_unit": _MAYBE_DECIMAL,
            "periods": {"type": ["integer", "null"], "minimum": 0, "maximum": MOST_PERIODS},
            "first_share": {"type": ["number", "null"], "minimum": 0.01, "maximum": 1},
            "floor": _MAYBE_DECIMAL,
            "cap": _MAYBE_DECIMAL,
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
    "$schema": _DRAFT,
    "title": "collop.markdown.plan/1",
    **_all_of(
        {
            "schema": {"const": "collop.markdown.plan/1"},
            "name": _TEXT,
            "currency": _TEXT,
            "unit": {"enum": list(UNITS)},
            "stock": _DECIMAL,
            "price": _DECIMAL,
            "price_now": _MAYBE_DECIMAL,
            "sell_now": _DECIMAL,
            "steps": {
                "type": "array",
                "maxItems": MOST_PERIODS,
                "items": _all_of(
                    {"period": {"type": "integer", "minimum": 1}, "price": _DECIMAL,
                     "sells": _DECIMAL, "left": _DECIMAL}
                ),
            },
            "rest": {
                "type": "array",
                "items": _all_of(
                    {"way": _WAY, "to": _TEXT, "weight": _DECIMAL, "value": _DECIMAL}
                ),
            },
            "value": _DECIMAL,
            "clearing": _all_of({"price": _MAYBE_DECIMAL, "value": _DECIMAL}),
            "as_is": _all_of({"value": _DECIMAL}),
            "gain": _SIGNED,
            "ways": {
                "type": "array",
                "minItems": 1,
                "items": _all_of(
                    {"way": _WAY, "to": _TEXT, "value": _SIGNED, "takes": _MAYBE_DECIMAL}
                ),
            },
            "aim": {"enum": list(AIMS)},
            "say": _TEXT,
            "assumptions": {"type": "array", "items": _TEXT},
        }
    ),
}  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {"markdown": _PROBLEM, "markdown.plan": _PLAN}
