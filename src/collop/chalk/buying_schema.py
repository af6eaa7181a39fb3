"""JSON Schema of offers to compare and their plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.amounts import UNITS
from collop.chalk.buying_reading import MOST_CUTS, MOST_OFFERS
from collop.chalk.schema_parts import (
    DECIMAL,
    DRAFT,
    MAYBE_DECIMAL,
    MAYBE_NUMBER,
    MAYBE_TEXT,
    SIGNED,
    TEXT,
    all_of,
    object_of,
)

__all__ = ["SCHEMAS"]

_ID = {"type": "string", "minLength": 1, "maxLength": 120}
_PCT = {"type": ["number", "null"], "minimum": 0, "maximum": 100}
_MAYBE_SHARE = {"type": ["number", "null"], "minimum": 0, "maximum": 1}
_BAND = {
    "anyOf": [
        {"type": "null"},
        object_of("pct", {"pct": {"type": "number", "minimum": 0, "maximum": 100}, "low": _PCT,
                          "high": _PCT, "of": {"enum": ["hot", "cold", None]},
                          "source": MAYBE_TEXT}),
    ]
}  # fmt: skip
_CREDITS = {
    "type": ["array", "null"],
    "maxItems": MOST_CUTS,
    "items": object_of("name money", {"name": _ID, "money": DECIMAL}),
}
_ANY: dict[str, Any] = {
    "id": _ID, "supplier": MAYBE_TEXT, "name": MAYBE_TEXT, "haulage": MAYBE_DECIMAL,
    "credits": _CREDITS, "labour_minutes": MAYBE_NUMBER,
}  # fmt: skip
_CARCASS: dict[str, Any] = {
    "animals": {"type": ["integer", "null"], "minimum": 1, "maximum": 1000},
    "weight": DECIMAL, "price": MAYBE_DECIMAL, "shrink": _BAND, "take_home": _BAND,
    "kill_fee": MAYBE_DECIMAL, "cutting_fee": MAYBE_DECIMAL,
}  # fmt: skip
_BOX_CUT = object_of(
    "cut weight price",
    {"cut": _ID, "name": MAYBE_TEXT, "weight": DECIMAL, "price": DECIMAL,
     "trim_loss_pct": {"type": ["number", "null"], "minimum": 0, "maximum": 99}},
)  # fmt: skip
_OFFER = {
    "oneOf": [
        object_of("id basis weight",
                  {**_ANY, **_CARCASS, "basis": {"const": "live"}, "price_head": MAYBE_DECIMAL,
                   "live_shrink_pct": _PCT, "dressing": _BAND}),
        object_of("id basis weight price",
                  {**_ANY, **_CARCASS, "basis": {"const": "hanging"},
                   "weight_is": {"enum": ["hot", "cold", None]}}),
        object_of("id basis cuts",
                  {**_ANY, "basis": {"const": "box"},
                   "cuts": {"type": "array", "minItems": 1, "maxItems": MOST_CUTS,
                            "items": _BOX_CUT}}),
    ]
}  # fmt: skip
_CUT = object_of(
    "id price", {"id": _ID, "name": MAYBE_TEXT, "price": DECIMAL, "share": _MAYBE_SHARE}
)
_PROBLEM = {
    "$schema": DRAFT,
    "title": "collop.buying/1",
    **object_of(
        "schema offers",
        {
            "schema": {"const": "collop.buying/1"},
            "name": MAYBE_TEXT,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "species": MAYBE_TEXT,
            "labour_per_hour": MAYBE_DECIMAL,
            "cuts": {"type": ["array", "null"], "maxItems": MOST_CUTS, "items": _CUT},
            "rest_price": MAYBE_DECIMAL,
            "offers": {"type": "array", "minItems": 1, "maxItems": MOST_OFFERS, "items": _OFFER},
        },
    ),
}


def _three(one: dict[str, Any]) -> dict[str, Any]:
    return all_of({"usual": one, "low": one, "high": one})


_NUMBER: dict[str, Any] = {"type": "number", "minimum": 0}
_SHARE: dict[str, Any] = {"type": "number", "minimum": 0, "maximum": 1}
_WEIGHT = all_of({"name": TEXT, "usual": DECIMAL, "low": DECIMAL, "high": DECIMAL})
_FIGURE = all_of({"name": TEXT, "usual": _SHARE, "low": _SHARE, "high": _SHARE, "source": TEXT,
                  "checked": {"type": "boolean"}})  # fmt: skip
_TOLD = all_of(
    {
        "rank": {"type": "integer", "minimum": 1},
        "id": TEXT,
        "supplier": TEXT,
        "name": TEXT,
        "basis": {"enum": ["live", "hanging", "box"]},
        "weights": {"type": "array", "items": _WEIGHT},
        "parts": {"type": "array", "items": all_of({"name": TEXT, "money": SIGNED})},
        "figures": {"type": "array", "items": _FIGURE},
        "cost": _three(DECIMAL),
        "per_unit": _three(DECIMAL),
        "board_value": MAYBE_DECIMAL,
        "margin": {"anyOf": [SIGNED, {"type": "null"}]},
        "cost_share": {"anyOf": [_three(_NUMBER), {"type": "null"}]},
        "say": TEXT,
    }
)
_BASKET = all_of(
    {
        "of": TEXT,
        "weight": DECIMAL,
        "board_value": DECIMAL,
        "from": {
            "type": "array",
            "items": all_of({"id": TEXT, "cost": _three(DECIMAL), "per_unit": _three(DECIMAL)}),
        },
    }
)
_EVEN = all_of(
    {"box": TEXT, "against": TEXT, "under": DECIMAL, "asked": DECIMAL,
     "wins": {"type": "boolean"}, "say": TEXT}
)  # fmt: skip
_PLAN = all_of(
    {
        "schema": {"const": "collop.buying.plan/1"},
        "name": TEXT,
        "currency": TEXT,
        "unit": {"enum": list(UNITS)},
        "species": TEXT,
        "by": {"enum": ["cost over board value", "cost for a unit to sell"]},
        "offers": {"type": "array", "items": _TOLD},
        "baskets": {"type": "array", "items": _BASKET},
        "break_even": {"type": "array", "items": _EVEN},
        "say": {"type": "array", "items": TEXT},
        "assumptions": {"type": "array", "items": TEXT},
    }
)

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "buying": _PROBLEM,
    "buying.plan": {"$schema": DRAFT, "title": "collop.buying.plan/1", **_PLAN},
}
