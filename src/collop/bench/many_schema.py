"""JSON Schema of many shops' plans (draft 2020-12), written out by hand."""

from __future__ import annotations

from collop.bench.bench_schema import SCHEMAS as ONE
from collop.bench.bench_schema_parts import (
    DAY,
    DECIMAL,
    DRAFT,
    ID,
    MAYBE_DECIMAL,
    NAME,
    SIGNED,
    TEXT,
    Schema,
    all_of,
    each_day,
    lines_of,
    list_of,
    maybe_list,
    object_of,
    or_null,
    whole,
)
from collop.bench.many import PLAN_ID
from collop.bench.many_reading import MOST_LINKS, MOST_SHOPS, MOST_TRAVEL, SCHEMA_ID

__all__ = ["SCHEMAS"]


def _inner(schema: Schema) -> Schema:
    """Return a schema to stand within another."""
    return {key: part for key, part in schema.items() if key not in {"$schema", "title"}}


_PROBLEM: Schema = {
    "$schema": DRAFT,
    "title": SCHEMA_ID,
    **object_of(
        "schema shops",
        {
            "schema": {"const": SCHEMA_ID},
            "shops": list_of(
                object_of("id problem", {"id": ID, "name": NAME, "problem": _inner(ONE["bench"])}),
                MOST_SHOPS,
                1,
            ),
            "transfers": maybe_list(
                object_of(
                    "from to",
                    {
                        "from": ID,
                        "to": ID,
                        "cost_per_unit": MAYBE_DECIMAL,
                        "most": MAYBE_DECIMAL,
                        "days": or_null(whole(0, MOST_TRAVEL)),
                        "cuts": {"type": ["array", "null"], "items": ID},
                    },
                ),
                MOST_LINKS,
            ),
        },
    ),
}
_LINE: Schema = {
    "cut": TEXT,
    "name": TEXT,
    "day": DAY,
    "arrives": DAY,
    "weight": DECIMAL,
    "last_day": {"type": "integer", "minimum": 0},
}
_TRIP: Schema = {
    "from": TEXT,
    "to": TEXT,
    "lines": lines_of(_LINE),
    "weight": DECIMAL,
    "cost": DECIMAL,
    "gain": or_null(SIGNED),
}
_SHOP: Schema = {
    "id": TEXT,
    "name": TEXT,
    "alone": SIGNED,
    "contribution": SIGNED,
    "plan": _inner(ONE["bench.plan"]),
}
_PLAN: Schema = {
    "schema": {"const": PLAN_ID},
    "currency": TEXT,
    "unit": TEXT,
    "days": each_day(TEXT),
    "shops": lines_of(_SHOP),
    "transfers": lines_of(_TRIP),
    "dropped": lines_of(_TRIP),
    "alone": SIGNED,
    "cost": DECIMAL,
    "contribution": SIGNED,
    "gain": SIGNED,
    "assumptions": {"type": "array", "items": TEXT},
}

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, Schema] = {
    "benches": _PROBLEM,
    "benches.plan": {"$schema": DRAFT, "title": PLAN_ID, **all_of(_PLAN)},
}
