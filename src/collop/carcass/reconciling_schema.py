"""JSON Schema of a weight balance and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.carcass.cuttingtest_amounts import UNITS
from collop.carcass.reconciling_likelihood import KINDS

__all__ = ["SCHEMAS"]

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_TEXT = {"type": "string"}
_NUMBER = {"type": "number"}
_MAYBE_UNIT = {"enum": [*UNITS, None]}
_SHARE = {"type": "number", "minimum": 0, "maximum": 0.9}


def _object(required: str, properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "required": required.split(),
        "properties": properties,
        "additionalProperties": False,
    }


_LOSS = _object("share", {"share": _SHARE, "sd_share": _SHARE})
_LOSS_OF_ONE = {
    "anyOf": [_LOSS, _object("weight sd", {"weight": _DECIMAL, "sd": _DECIMAL}), {"type": "null"}]
}
_PIECE = _object(
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
    "$schema": _DRAFT,
    "title": "collop.balance/1",
    "$defs": {"piece": _PIECE},
    **_object(
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
            "tares": {"type": "array", "items": _object("name weight", _TUB)},
            "usual_parts": {
                "type": "array",
                "items": {"anyOf": [_TEXT, _object("name", _TUB)]},
            },
        },
    ),
}

_CLOSED = _object(
    "name reading weight estimate",
    {
        "name": _TEXT,
        "reading": _MAYBE_DECIMAL,
        "weight": _DECIMAL,
        "estimate": _NUMBER,
        "loss": {
            "anyOf": [
                _object(
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
    "sums": {"type": "array", "items": _object(
        "whole where gap_weight z",
        {"whole": _TEXT, "where": _TEXT, "gap_weight": {"anyOf": [_SIGNED, {"type": "null"}]},
         "z": {"type": ["number", "null"]}})},
    "whole": {"anyOf": [{"$ref": "#/$defs/closed"}, {"type": "null"}]},
    "likely": {"type": "array", "items": _object(
        "kind say weight where chi_square_then",
        {"kind": {"enum": list(KINDS)}, "say": _TEXT, "weight": _DECIMAL, "where": _TEXT,
         "chi_square_then": _NUMBER})},
    "assumptions": {"type": "array", "items": _TEXT},
}  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "balance": _PROBLEM,
    "balance.plan": {
        "$schema": _DRAFT,
        "title": "collop.balance.plan/1",
        "$defs": {"closed": _CLOSED},
        **_object(" ".join(_PLAN_PROPERTIES), _PLAN_PROPERTIES),
    },
}
