"""JSON Schema of a joint cost and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.allocating_reading import BY_PRODUCT_AS, METHODS, MOST_LINES
from collop.chalk.schema_parts import (
    DECIMAL,
    DRAFT,
    MAYBE_DECIMAL,
    MAYBE_NUMBER,
    SIGNED,
    TEXT,
    all_of,
    object_of,
)

__all__ = ["SCHEMAS"]

_MAYBE_SIGNED = {"anyOf": [SIGNED, {"type": "null"}]}
_UNIT = {"type": "string", "minLength": 1, "maxLength": 20}
_MAYBE_UNIT = {"anyOf": [_UNIT, {"type": "null"}]}


_FURTHER = object_of(
    "quantity price",
    {"quantity": DECIMAL, "unit": _MAYBE_UNIT, "price": DECIMAL, "cost": MAYBE_DECIMAL},
)
_PRODUCT = object_of(
    "name quantity",
    {
        "name": TEXT,
        "quantity": DECIMAL,
        "unit": _MAYBE_UNIT,
        "price": MAYBE_DECIMAL,
        "separable_cost": MAYBE_DECIMAL,
        "further": {"anyOf": [_FURTHER, {"type": "null"}]},
    },
)
_BY_PRODUCT = object_of(
    "name quantity price",
    {
        "name": TEXT,
        "quantity": DECIMAL,
        "unit": _MAYBE_UNIT,
        "price": DECIMAL,
        "separable_cost": MAYBE_DECIMAL,
    },
)
_PROBLEM = {
    "$schema": DRAFT,
    "title": "collop.allocate/1",
    **object_of(
        "schema joint_cost method products",
        {
            "schema": {"const": "collop.allocate/1"},
            "name": {"type": ["string", "null"]},
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": _MAYBE_UNIT,
            "joint_cost": DECIMAL,
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
                    object_of("quantity", {"quantity": DECIMAL, "unit": _MAYBE_UNIT}),
                    {"type": "null"},
                ]
            },
            "loss_quantity": MAYBE_DECIMAL,
            "tolerance": MAYBE_DECIMAL,
        },
    ),
}

_SHARED = {
    "name": TEXT,
    "quantity": DECIMAL,
    "unit": _UNIT,
    "share": MAYBE_NUMBER,
    "allocated": SIGNED,
    "cost_per_unit": SIGNED,
    "separable_cost": DECIMAL,
    "full_cost_per_unit": SIGNED,
    "sales_value": MAYBE_DECIMAL,
    "profit": _MAYBE_SIGNED,
    "gross_margin_pct": MAYBE_NUMBER,
    "markup_pct": MAYBE_NUMBER,
}
_GONE_FURTHER = all_of(
    {
        "quantity": DECIMAL,
        "unit": _UNIT,
        "sales_value": DECIMAL,
        "cost": DECIMAL,
        "gain": SIGNED,
        "worth_it": {"type": "boolean"},
        "say": TEXT,
    }
)
_TOTAL = all_of(
    {
        "sales_value": DECIMAL,
        "cost_of_goods_sold": DECIMAL,
        "other_income": SIGNED,
        "gross_margin": SIGNED,
        "gross_margin_pct": MAYBE_NUMBER,
    }
)
_PLAN = {
    "schema": {"const": "collop.allocate.plan/1"},
    "name": TEXT,
    "currency": TEXT,
    "method": {"enum": list(METHODS)},
    "joint_cost": DECIMAL,
    "by_product_as": {"enum": list(BY_PRODUCT_AS)},
    "by_product_value": SIGNED,
    "shared_cost": DECIMAL,
    "products": {
        "type": "array",
        "minItems": 1,
        "items": object_of(" ".join(_SHARED), _SHARED | {"further": _GONE_FURTHER}),
    },
    "sum": DECIMAL,
    "by_products": {
        "type": "array",
        "items": all_of(
            {
                "name": TEXT,
                "quantity": DECIMAL,
                "unit": _UNIT,
                "sales_value": DECIMAL,
                "separable_cost": DECIMAL,
                "value": SIGNED,
            }
        ),
    },
    "total": {"anyOf": [_TOTAL, {"type": "null"}]},
    "closes": {"enum": [True, None]},
    "gap_quantity": _MAYBE_SIGNED,
    "tolerance": MAYBE_DECIMAL,
    "input_unit": _MAYBE_UNIT,
    "assumptions": {"type": "array", "items": TEXT},
}

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "allocate": _PROBLEM,
    "allocate.plan": {"$schema": DRAFT, "title": "collop.allocate.plan/1", **all_of(_PLAN)},
}
