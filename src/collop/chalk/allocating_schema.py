"""JSON Schema of a joint cost and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.allocating_reading import BY_PRODUCT_AS, METHODS, MOST_LINES

__all__ = ["SCHEMAS"]

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_MAYBE_SIGNED = {"anyOf": [_SIGNED, {"type": "null"}]}
_TEXT = {"type": "string"}
_UNIT = {"type": "string", "minLength": 1, "maxLength": 20}
_MAYBE_UNIT = {"anyOf": [_UNIT, {"type": "null"}]}
_MAYBE_NUMBER = {"type": ["number", "null"]}


def _object(required: str, properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "required": required.split(),
        "properties": properties,
        "additionalProperties": False,
    }


def _all_of(properties: dict[str, Any]) -> dict[str, Any]:
    return _object(" ".join(properties), properties)


_FURTHER = _object(
    "quantity price",
    {"quantity": _DECIMAL, "unit": _MAYBE_UNIT, "price": _DECIMAL, "cost": _MAYBE_DECIMAL},
)
_PRODUCT = _object(
    "name quantity",
    {
        "name": _TEXT,
        "quantity": _DECIMAL,
        "unit": _MAYBE_UNIT,
        "price": _MAYBE_DECIMAL,
        "separable_cost": _MAYBE_DECIMAL,
        "further": {"anyOf": [_FURTHER, {"type": "null"}]},
    },
)
_BY_PRODUCT = _object(
    "name quantity price",
    {
        "name": _TEXT,
        "quantity": _DECIMAL,
        "unit": _MAYBE_UNIT,
        "price": _DECIMAL,
        "separable_cost": _MAYBE_DECIMAL,
    },
)
_PROBLEM = {
    "$schema": _DRAFT,
    "title": "collop.allocate/1",
    **_object(
        "schema joint_cost method products",
        {
            "schema": {"const": "collop.allocate/1"},
            "name": {"type": ["string", "null"]},
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": _MAYBE_UNIT,
            "joint_cost": _DECIMAL,
            "method": {"enum": list(METHODS)},
            "products": {"type": "array", "minItems": 1, "maxItems": MOST_LINES, "items": _PRODUCT},
            "by_products": {
                "anyOf": [
                    {"type": "array", "maxItems": MOST_LINES, "items": _BY_PRODUCT},
                    {"type": "null"},
                ]
            },
            "by_product_as": {"enum": [*BY_PRODUCT_AS, None]},
            "input": {
                "anyOf": [
                    _object("quantity", {"quantity": _DECIMAL, "unit": _MAYBE_UNIT}),
                    {"type": "null"},
                ]
            },
            "loss_quantity": _MAYBE_DECIMAL,
            "tolerance": _MAYBE_DECIMAL,
        },
    ),
}

_SHARED = {
    "name": _TEXT,
    "quantity": _DECIMAL,
    "unit": _UNIT,
    "share": _MAYBE_NUMBER,
    "allocated": _SIGNED,
    "cost_per_unit": _SIGNED,
    "separable_cost": _DECIMAL,
    "full_cost_per_unit": _SIGNED,
    "sales_value": _MAYBE_DECIMAL,
    "profit": _MAYBE_SIGNED,
    "gross_margin_pct": _MAYBE_NUMBER,
    "markup_pct": _MAYBE_NUMBER,
}
_GONE_FURTHER = _all_of(
    {
        "quantity": _DECIMAL,
        "unit": _UNIT,
        "sales_value": _DECIMAL,
        "cost": _DECIMAL,
        "gain": _SIGNED,
        "worth_it": {"type": "boolean"},
        "say": _TEXT,
    }
)
_TOTAL = _all_of(
    {
        "sales_value": _DECIMAL,
        "cost_of_goods_sold": _DECIMAL,
        "other_income": _SIGNED,
        "gross_margin": _SIGNED,
        "gross_margin_pct": _MAYBE_NUMBER,
    }
)
_PLAN = {
    "schema": {"const": "collop.allocate.plan/1"},
    "name": _TEXT,
    "currency": _TEXT,
    "method": {"enum": list(METHODS)},
    "joint_cost": _DECIMAL,
    "by_product_as": {"enum": list(BY_PRODUCT_AS)},
    "by_product_value": _SIGNED,
    "shared_cost": _DECIMAL,
    "products": {
        "type": "array",
        "minItems": 1,
        "items": _object(" ".join(_SHARED), _SHARED | {"further": _GONE_FURTHER}),
    },
    "sum": _DECIMAL,
    "by_products": {
        "type": "array",
        "items": _all_of(
            {
                "name": _TEXT,
                "quantity": _DECIMAL,
                "unit": _UNIT,
                "sales_value": _DECIMAL,
                "separable_cost": _DECIMAL,
                "value": _SIGNED,
            }
        ),
    },
    "total": {"anyOf": [_TOTAL, {"type": "null"}]},
    "closes": {"enum": [True, None]},
    "gap_quantity": _MAYBE_SIGNED,
    "tolerance": _MAYBE_DECIMAL,
    "input_unit": _MAYBE_UNIT,
    "assumptions": {"type": "array", "items": _TEXT},
}

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "allocate": _PROBLEM,
    "allocate.plan": {"$schema": _DRAFT, "title": "collop.allocate.plan/1", **_all_of(_PLAN)},
}
