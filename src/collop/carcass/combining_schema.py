"""JSON Schema of combined yields and their plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.carcass.combining_reading import METHODS, MOST_PARTS, MOST_TESTS
from collop.carcass.cuttingtest_amounts import UNITS
from collop.wire import SCHEMA_DRAFT, object_of

__all__ = ["SCHEMAS"]

_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_TEXT = {"type": "string"}
_MAYBE_TEXT = {"type": ["string", "null"]}
_NUMBER = {"type": "number"}
_MAYBE_NUMBER = {"type": ["number", "null"]}
_SD = {"type": "number", "minimum": 0.0001, "maximum": 0.5}


_SHARES = {
    "type": "object",
    "minProperties": 2,
    "maxProperties": MOST_PARTS,
    "additionalProperties": {"type": "number", "minimum": 0, "maximum": 100},
}
_TEST = object_of(
    "",
    {
        "label": _MAYBE_TEXT,
        "shares": _SHARES,
        "weights": {"type": "object", "additionalProperties": _DECIMAL},
        "unit": {"enum": [*UNITS, None]},
        "age_days": {"type": ["number", "null"], "minimum": 0, "maximum": 100_000},
        "carcass_weight": _MAYBE_DECIMAL,
    },
)
_TESTS = {"type": "array", "maxItems": MOST_TESTS, "items": _TEST}
_PUBLISHED = object_of(
    "shares",
    {
        "shares": _SHARES,
        "sd": {"anyOf": [_SD, {"type": "null"}, {
            "type": "object",
            "additionalProperties": {"type": "number", "minimum": 0, "maximum": 0.5}}]},
        "worth": {"anyOf": [
            {"type": "number", "minimum": 0, "maximum": 1000}, {"const": "estimate"},
            {"type": "null"},
            object_of("within_sd between_sd", {"within_sd": _SD, "between_sd": _SD})]},
        "source": _TEXT,
    },
)  # fmt: skip

_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": "collop.yields/1",
    **object_of(
        "schema published",
        {
            "schema": {"const": "collop.yields/1"},
            "name": _TEXT,
            "method": {"enum": list(METHODS)},
            "places": {"type": "integer", "minimum": 2, "maximum": 6},
            "published": _PUBLISHED,
            "tests": _TESTS,
            "other_shops": {"type": "array", "maxItems": MOST_TESTS, "items": object_of(
                "shop tests", {"shop": _TEXT, "tests": {**_TESTS, "minItems": 1}})},
            "unit": {"enum": list(UNITS)},
            "half_life_days": {"type": ["number", "null"], "minimum": 1, "maximum": 100_000},
            "weigh_by_carcass": {"type": "boolean"},
            "resolution": _MAYBE_DECIMAL,
            "next_weight": _MAYBE_DECIMAL,
        },
    ),
}  # fmt: skip

_SHARE = {"type": "number", "minimum": 0, "maximum": 1}
_PLAN_PROPERTIES = {
    "schema": {"const": "collop.yields.plan/1"},
    "name": _TEXT,
    "method": {"enum": list(METHODS)},
    "worth": _NUMBER,
    "worth_method": {"enum": ["set", "usual", "estimated", "from known spreads"]},
    "own_weight": _NUMBER,
    "published_share_of_answer": _SHARE,
    "concentration": _MAYBE_NUMBER,
    "concentration_from": {"enum": ["published", "own tests", "not known"]},
    "parts": {"type": "array", "items": object_of(
        "part share mean published sd",
        {"part": _TEXT, "share": _SHARE, "mean": _SHARE, "published": _SHARE,
         "sd": _MAYBE_NUMBER, "next_weight": _DECIMAL})},
    "tests": {"type": "array", "items": object_of(
        "label weight", {"label": _TEXT, "weight": _NUMBER})},
    "source": _TEXT,
    "assumptions": {"type": "array", "items": _TEXT},
}  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "yields": _PROBLEM,
    "yields.plan": {
        "$schema": SCHEMA_DRAFT,
        "title": "collop.yields.plan/1",
        **object_of(" ".join(_PLAN_PROPERTIES), _PLAN_PROPERTIES),
    },
}
