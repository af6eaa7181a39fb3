"""JSON Schema of a weight balance and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.carcass.cuttingtest_amounts import UNITS
from collop.carcass.reconciling_likelihood import KINDS
from collop.wire import SCHEMA_DRAFT, object_of

__all__ = ["SCHEMAS"]

_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_TEXT = {"type": "string"}
_NUMBER = {"type": "number"}
_MAYBE_UNIT = {"enum": [*UNITS, None]}
_SHARE = {"type": "number", "minimum": 0, "maximum": 0.9}


_LOSS = object_of("share", {"share": _SHARE, "sd_share": _SHARE})
_LOSS_OF_ONE = {
    "anyOf": [_LOSS, object_of("weight sd", {"weight": _DECIMAL, "sd": _DECIMAL}), {"type": "null"}]
}
_PIECE = object_of(
    "name",
    {
        "name": _TEXT,
        "weight": _MAYBE_DECIMAL,
        "unit": _MAYBE_UNIT,
        "sd": _MAYBE_DECIMAL,
        "parts": {"type": "array", "items": {"$ref": "#/$defs/piece"}},
        "loss": _LOSS_OF_ONE,
    },
)
_TUB = {"name": _TEXT, "weight": _DECIMAL, "unit": _MAYBE_UNIT}

_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": "collop.balance/1",
    "$defs": {"piece": _PIECE},
    **object_of(
        "schema whole",
        {
            "schema": {"const": "collop.balance/1"},
            "name": _TEXT,
            "unit": {"enum": list(UNITS)},
            "scale_sd": _MAYBE_DECIMAL,
            "significance": {"type": "number", "minimum": 0.0001, "maximum": 0.5},
            "resolution": _MAYBE_DECIMAL,
            "loss": {"anyOf": [_LOSS, {"type": "null"}]},
            "whole": {"$ref": "#/$defs/piece"},
            "tares": {"type": "array", "items": object_of("name weight", _TUB)},
            "usual_parts": {
                "type": "array",
                "items": {"anyOf": [_TEXT, object_of("name", _TUB)]},
            },
        },
    ),
}

_CLOSED = object_of(
    "name reading weight estimate",
    {
        "name": _TEXT,
        "reading": _MAYBE_DECIMAL,
        "weight": _DECIMAL,
        "estimate": _NUMBER,
        "loss": {
            "anyOf": [
                object_of(
                    "usual weight estimate",
                    {"usual": _DECIMAL, "weight": _DECIMAL, "estimate": _NUMBER},
                ),
                {"type": "null"},
            ]
        },
        "parts": {"type": "array", "items": {"$ref": "#/$defs/closed"}},
    },
)
_PLAN_PROPERTIES = {
    "schema": {"const": "collop.balance.plan/1"},
    "name": _TEXT,
    "unit": {"enum": list(UNITS)},
    "verdict": {"enum": ["accepted", "refused"]},
    "closes": {"type": "boolean"},
    "chi_square": _NUMBER,
    "freedom": {"type": "integer", "minimum": 0},
    "limit": _NUMBER,
    "chance": {"type": "number", "minimum": 0, "maximum": 1},
    "significance": _NUMBER,
    "sums": {"type": "array", "items": object_of(
        "whole where gap_weight z",
        {"whole": _TEXT, "where": _TEXT, "gap_weight": {"anyOf": [_SIGNED, {"type": "null"}]},
         "z": {"type": ["number", "null"]}})},
    "whole": {"anyOf": [{"$ref": "#/$defs/closed"}, {"type": "null"}]},
    "likely": {"type": "array", "items": object_of(
        "kind say weight where chi_square_then",
        {"kind": {"enum": list(KINDS)}, "say": _TEXT, "weight": _DECIMAL, "where": _TEXT,
         "chi_square_then": _NUMBER})},
    "assumptions": {"type": "array", "items": _TEXT},
}  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "balance": _PROBLEM,
    "balance.plan": {
        "$schema": SCHEMA_DRAFT,
        "title": "collop.balance.plan/1",
        "$defs": {"closed": _CLOSED},
        **object_of(" ".join(_PLAN_PROPERTIES), _PLAN_PROPERTIES),
    },
}
