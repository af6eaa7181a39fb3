"""JSON Schema of learned appetites and their plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.spread.appetites import MOST_ORDERS, PLAN_ID, SCHEMA_ID
from collop.wire import SCHEMA_DRAFT, all_of, object_of

__all__ = ["SCHEMAS"]

_NUMBER = {"type": "number"}
_COUNT = {"type": "integer", "minimum": 0}
_TEXT = {"type": "string"}
_MEALS = {"type": "number", "minimum": 0.01, "maximum": 100_000}
_ORDER = object_of(
    "needed_meals supplied_meals",
    {
        "label": {"type": ["string", "null"]},
        "needed_meals": _MEALS,
        "supplied_meals": _MEALS,
        "left_over": {"type": ["number", "null"], "minimum": -2, "maximum": 0.95},
        "ran_out": {"type": ["boolean", "null"]},
    },
)
_BOUNDS = object_of(
    "low high",
    {
        "low": {"type": "number", "minimum": 0.5, "maximum": 1},
        "high": {"type": "number", "minimum": 1, "maximum": 2},
    },
)
_PROBLEM = object_of(
    "schema orders",
    {
        "schema": {"const": SCHEMA_ID},
        "orders": {"type": "array", "maxItems": MOST_ORDERS, "items": _ORDER},
        "prior_sd": {"type": ["number", "null"], "minimum": 0.001, "maximum": 1},
        "order_sd": {"type": ["number", "null"], "minimum": 0.01, "maximum": 2},
        "bounds": {"anyOf": [_BOUNDS, {"type": "null"}]},
        "least_orders": {"type": ["integer", "null"], "minimum": 1, "maximum": 1000},
    },
)
_PLAN = all_of(
    {
        "schema": {"const": PLAN_ID},
        "orders": _COUNT,
        "prior_worth_orders": _NUMBER,
        "factor": _NUMBER,
        "sd_log": _NUMBER,
        "low": _NUMBER,
        "high": _NUMBER,
        "used": _NUMBER,
        "each": {
            "type": "array",
            "items": all_of({"label": _TEXT, "ratio": _NUMBER, "at_least": {"type": "boolean"}}),
        },
        "say": _TEXT,
    }
)

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "appetite": {"$schema": SCHEMA_DRAFT, "title": SCHEMA_ID, **_PROBLEM},
    "appetite.plan": {"$schema": SCHEMA_DRAFT, "title": PLAN_ID, **_PLAN},
}
