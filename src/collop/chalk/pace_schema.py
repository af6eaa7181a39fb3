"""JSON Schema of a line's pace and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.chalk.amounts import UNITS
from collop.chalk.pace import MOST_DAYS, PLAN_ID, SCHEMA_ID
from collop.chalk.schema_parts import (
    DECIMAL,
    DRAFT,
    MAYBE_DECIMAL,
    MAYBE_TEXT,
    TEXT,
    all_of,
    object_of,
)

__all__ = ["SCHEMAS"]

_COUNT = {"type": "integer", "minimum": 0}
_DAY = object_of(
    "sold", {"day": MAYBE_TEXT, "sold": DECIMAL, "sold_out": {"type": ["boolean", "null"]}}
)
_PROBLEM = object_of(
    "schema",
    {
        "schema": {"const": SCHEMA_ID},
        "name": MAYBE_TEXT,
        "unit": {"enum": [*UNITS, None]},
        "usual": MAYBE_DECIMAL,
        "worth_days": {"type": ["integer", "null"], "minimum": 1, "maximum": 1000},
        "days": {"type": ["array", "null"], "maxItems": MOST_DAYS, "items": _DAY},
    },
)
_PLAN = all_of(
    {
        "schema": {"const": PLAN_ID},
        "name": MAYBE_TEXT,
        "unit": {"enum": list(UNITS)},
        "pace": DECIMAL,
        "usual": MAYBE_DECIMAL,
        "days": _COUNT,
        "sold_out_days": _COUNT,
        "mean_sold": MAYBE_DECIMAL,
        "worth_days": _COUNT,
        "say": TEXT,
    }
)

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "pace": {"$schema": DRAFT, "title": SCHEMA_ID, **_PROBLEM},
    "pace.plan": {"$schema": DRAFT, "title": PLAN_ID, **_PLAN},
}
