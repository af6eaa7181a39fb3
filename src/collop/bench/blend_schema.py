"""JSON Schema of a blend and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.bench.blending_amounts import UNITS
from collop.bench.blending_reading import KINDS, MOST_ADDED, MOST_BINS, MOST_RECIPES, OF
from collop.bench.blending_standards import STANDARDS
from collop.bench.blending_words import CASINGS
from collop.wire import SCHEMA_DRAFT, all_of, object_of

__all__ = ["SCHEMAS"]

_TEXT = {"type": "string"}
_NAME = {"type": "string", "minLength": 1}
_MAYBE_TEXT = {"type": ["string", "null"]}
_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_SHARE = {"type": "number", "minimum": 0, "maximum": 1}
_MAYBE_SHARE = {"type": ["number", "null"], "minimum": 0, "maximum": 1}
_TEXTS = {"type": "array", "items": _TEXT}
_MAYBE_TEXTS = {"type": ["array", "null"], "items": _TEXT}


def _maybe(schema: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [schema, {"type": "null"}]}


def _list(items: dict[str, Any], most: int | None = None) -> dict[str, Any]:
    return {"type": "array", "items": items} | ({} if most is None else {"maxItems": most})


_RANGE = _maybe(
    object_of("", {"min": _MAYBE_SHARE, "max": _MAYBE_SHARE, "of": {"enum": [*OF, None]}})
)
_BIN = object_of(
    "id species fat price",
    {
        "id": _NAME,
        "name": _MAYBE_TEXT,
        "species": _NAME,
        "fat": _SHARE,
        "protein": _MAYBE_SHARE,
        "available": _MAYBE_DECIMAL,
        "price": _DECIMAL,
        "contains": _MAYBE_TEXTS,
    },
)
_ADDED = object_of(
    "name of share kind",
    {
        "name": _NAME,
        "of": {"enum": list(OF)},
        "share": _SHARE,
        "price": _MAYBE_DECIMAL,
        "contains": _MAYBE_TEXTS,
        "kind": {"enum": list(KINDS)},
    },
)
_CASING = object_of(
    "species",
    {"species": {"enum": list(CASINGS)}, "per_unit": _MAYBE_DECIMAL, "contains": _MAYBE_TEXTS},
)
_BIN_LIMIT = object_of("bin", {"bin": _NAME, "min": _MAYBE_SHARE, "max": _MAYBE_SHARE})
_RECIPE = object_of(
    "id",
    {
        "id": _NAME,
        "name": _MAYBE_TEXT,
        "standard": {"enum": [*STANDARDS, None]},
        "make": _MAYBE_DECIMAL,
        "most": _MAYBE_DECIMAL,
        "price": _MAYBE_DECIMAL,
        "fat": _RANGE,
        "protein": _RANGE,
        "bins": _MAYBE_TEXTS,
        "bin_limits": {**_list(_BIN_LIMIT, MOST_BINS), "type": ["array", "null"]},
        "added": {**_list(_ADDED, MOST_ADDED), "type": ["array", "null"]},
        "casing": _maybe(_CASING),
        "batch": _MAYBE_DECIMAL,
        "piece": _maybe(object_of("weight", {"weight": _DECIMAL})),
    },
)
_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": "collop.blend/1",
    **object_of(
        "schema bins recipes",
        {
            "schema": {"const": "collop.blend/1"},
            "name": _MAYBE_TEXT,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "bins": {**_list(_BIN, MOST_BINS), "minItems": 1},
            "recipes": {**_list(_RECIPE, MOST_RECIPES), "minItems": 1},
        },
    ),
}
_WEIGHED = {"bin": _TEXT, "name": _TEXT, "weight": _DECIMAL}
_LIMIT = all_of(
    {
        "what": {"enum": ["fat", "protein", "bin"]},
        "side": {"enum": ["max", "min"]},
        "of": {"enum": list(OF)},
        "bin": _MAYBE_TEXT,
        "limit": _SHARE,
        "reached": _MAYBE_SHARE,
        "binds": {"type": "boolean"},
        "saves_per_unit": _MAYBE_DECIMAL,
        "source": _MAYBE_TEXT,
        "say": _MAYBE_TEXT,
    }
)
_VERDICT = all_of(
    {
        "standard": {"enum": list(STANDARDS)},
        "keeps": {"const": True},
        "lines": _list(
            all_of(
                {
                    "what": {"enum": ["fat", "water", "binder", "meat"]},
                    "side": {"enum": ["max", "min"]},
                    "limit": _SHARE,
                    "reached": _SHARE,
                    "keeps": {"const": True},
                    "status": {"enum": ["seen", "memory", "computed"]},
                    "source": _TEXT,
                    "say": _TEXT,
                }
            )
        ),
        "reminders": _TEXTS,
    }
)
_BATCH = all_of(
    {
        "times": {"type": "integer", "minimum": 1},
        "finished": _DECIMAL,
        "bins": _list(all_of(_WEIGHED)),
        "added": _list(all_of({"name": _TEXT, "weight": _DECIMAL})),
    }
)
_MADE = all_of(
    {
        "id": _TEXT,
        "name": _TEXT,
        "standard": {"enum": [*STANDARDS, None]},
        "finished": _DECIMAL,
        "meat": _DECIMAL,
        "cost": _DECIMAL,
        "cost_per_unit": _MAYBE_DECIMAL,
        "takings": _MAYBE_DECIMAL,
        "bins": _list(all_of({**_WEIGHED, "share": _SHARE})),
        "added": _list(all_of({"name": _TEXT, "kind": {"enum": list(KINDS)}, "weight": _DECIMAL})),
        "fat": _MAYBE_SHARE,
        "fat_finished": _MAYBE_SHARE,
        "protein": _MAYBE_SHARE,
        "lean_fat": _MAYBE_TEXT,
        "species": _TEXTS,
        "contains": _TEXTS,
        "casing": {"enum": [*CASINGS, None]},
        "pieces": {"type": ["integer", "null"], "minimum": 0},
        "over": _MAYBE_DECIMAL,
        "batches": _list(_BATCH),
        "limits": _list(_LIMIT),
        "verdict": _maybe(_VERDICT),
        "say": _TEXT,
    }
)
_CHANGE = all_of(
    {
        "change": {
            "enum": ["fat max", "fat min", "protein max", "protein min", "bin max", "bin min",
                     "available", "make"]
        },
        "recipe": _MAYBE_TEXT,
        "bin": _MAYBE_TEXT,
        "from": {"anyOf": [_DECIMAL, _SHARE]},
        "to": {"anyOf": [_DECIMAL, _SHARE]},
        "say": _TEXT,
    }
)  # fmt: skip
_PLAN = all_of(
    {
        "schema": {"const": "collop.blend.plan/1"},
        "name": _TEXT,
        "currency": _TEXT,
        "rounding": {"enum": ["half-up", "half-even"]},
        "unit": {"enum": list(UNITS)},
        "answer": {"enum": ["yes", "no"]},
        "cost": _MAYBE_DECIMAL,
        "takings": _MAYBE_DECIMAL,
        "proof": _maybe(
            all_of(
                {
                    "status": {"const": "optimal"},
                    "objective": _SIGNED,
                    "bound": _SIGNED,
                    "gap": _DECIMAL,
                }
            )
        ),
        "recipes": _list(_MADE),
        "bins": _list(
            all_of(
                {
                    "id": _TEXT,
                    "name": _TEXT,
                    "used": _DECIMAL,
                    "left": _MAYBE_DECIMAL,
                    "price": _DECIMAL,
                    "saves": _MAYBE_DECIMAL,
                    "enters_at": _MAYBE_DECIMAL,
                }
            )
        ),
        "no": _maybe(
            all_of(
                {
                    "say": _TEXT,
                    "nearest": _list(all_of({"changes": _list(_CHANGE), "say": _TEXT})),
                    "published": _TEXTS,
                }
            )
        ),
        "assumptions": _TEXTS,
    }
)

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "blend": _PROBLEM,
    "blend.plan": {"$schema": SCHEMA_DRAFT, "title": "collop.blend.plan/1", **_PLAN},
}
