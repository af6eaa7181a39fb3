"""JSON Schema of a checked lot and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.rules.netweight_reading import MOST_LOT, SCHEMA_ID, UNITS
from collop.rules.netweight_tables import CATEGORIES, PRODUCTS
from collop.wire import SCHEMA_DRAFT, all_of, object_of

__all__ = ["SCHEMAS"]

_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_TEXT = {"type": "string"}
_MAYBE_TEXT = {"type": ["string", "null"]}
_TEXTS = {"type": "array", "items": _TEXT}
_MOST_CHECKED = 48

_PACKAGE = object_of(
    "",
    {
        "name": _MAYBE_TEXT,
        "label": _MAYBE_DECIMAL,
        "gross": _MAYBE_DECIMAL,
        "tare": _MAYBE_DECIMAL,
        "net": _MAYBE_DECIMAL,
    },
)
_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": SCHEMA_ID,
    **object_of(
        "schema lot_size packages",
        {
            "schema": {"const": SCHEMA_ID},
            "name": _MAYBE_TEXT,
            "lot_size": {"type": "integer", "minimum": 1, "maximum": MOST_LOT},
            "unit": {"enum": [*UNITS, None]},
            "category": {"enum": [*CATEGORIES, None]},
            "product": {"enum": [*PRODUCTS, None]},
            "label": _MAYBE_DECIMAL,
            "tare": _MAYBE_DECIMAL,
            "division": _MAYBE_DECIMAL,
            "capacity": _MAYBE_DECIMAL,
            "packages": {
                "type": "array", "minItems": 1, "maxItems": _MOST_CHECKED, "items": _PACKAGE
            },
        },
    ),
}  # fmt: skip
_COUNT = {"type": "integer", "minimum": 0}
_PLAN = all_of(
    {
        "schema": {"const": "collop.netweight.plan/1"},
        "name": _TEXT,
        "unit": {"enum": list(UNITS)},
        "category": {"enum": list(CATEGORIES)},
        "product": {"enum": list(PRODUCTS)},
        "kind": {"enum": ["random", "standard"]},
        "lot_size": _COUNT,
        "sample_size": _COUNT,
        "checked": _COUNT,
        "packages": {
            "type": "array",
            "items": all_of(
                {
                    "name": _TEXT,
                    "label": _DECIMAL,
                    "net": _DECIMAL,
                    "error": _SIGNED,
                    "allowance": _DECIMAL,
                    "rule": _TEXT,
                    "found": {"enum": ["full", "short", "beyond"]},
                }
            ),
        },
        "mean_error": _SIGNED,
        "s": _MAYBE_DECIMAL,
        "scf": _MAYBE_DECIMAL,
        "scf_recomputed": _MAYBE_DECIMAL,
        "sel": _MAYBE_DECIMAL,
        "average": {"enum": ["passes", "fails", "not judged", "too few"]},
        "beyond": all_of({"count": _COUNT, "allowed": _COUNT}),
        "scale": all_of(
            {
                "division": _MAYBE_DECIMAL,
                "sixth_of_allowance": _DECIMAL,
                "largest_division": _DECIMAL,
                "fits": {"type": ["boolean", "null"]},
            }
        ),
        "verdict": {"enum": ["passes", "fails", "undecided"]},
        "say": _TEXT,
        "rules": {
            "type": "array",
            "items": all_of(
                {
                    "id": _TEXT,
                    "text": _TEXT,
                    "source": _TEXT,
                    "status": {"enum": ["seen", "memory", "computed"]},
                }
            ),
        },
        "cautions": _TEXTS,
        "assumptions": _TEXTS,
    }
)

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "netweight": _PROBLEM,
    "netweight.plan": {"$schema": SCHEMA_DRAFT, "title": "collop.netweight.plan/1", **_PLAN},
}
