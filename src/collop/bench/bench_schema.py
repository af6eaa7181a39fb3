"""JSON Schema of what a cutting plan is asked (draft 2020-12), written out by hand."""

from __future__ import annotations

from collop.bench.bench_plan_schema import PLAN
from collop.bench.bench_schema_parts import (
    DATE,
    DAY,
    DECIMAL,
    DRAFT,
    FLAG,
    ID,
    MAYBE_DECIMAL,
    NAME,
    Schema,
    each_day,
    list_of,
    maybe_list,
    object_of,
    or_null,
    whole,
)
from collop.bench.reading import MOST_GAP, MOST_HANDS, SCHEMA_ID, UNITS
from collop.bench.reading_case import (
    LEAST_ELASTICITY,
    MOST_BINS,
    MOST_CUTS,
    MOST_ELASTICITY,
    MOST_KEEPS,
    MOST_LOTS,
    MOST_MAKES,
    MOST_STEPS,
)
from collop.bench.reading_kinds import MOST_HOLDS, MOST_KINDS, MOST_OUTPUTS, MOST_STYLES
from collop.bench.reading_rail import (
    MOST_BEFORE,
    MOST_BOOKINGS,
    MOST_CLAIMS,
    MOST_LINES,
    MOST_PIECES,
)

__all__ = ["SCHEMAS"]

_STOCK = maybe_list(
    object_of(
        "weight days_left",
        {"weight": DECIMAL, "days_left": whole(0, MOST_KEEPS), "lot": NAME},
    ),
    MOST_LOTS,
)
_HAND = object_of(
    "name minutes",
    {
        "name": ID,
        "minutes": each_day(DECIMAL),
        "overtime": or_null(each_day(DECIMAL)),
        "per_hour": MAYBE_DECIMAL,
        "overtime_per_hour": MAYBE_DECIMAL,
        "cannot": {"type": ["array", "null"], "items": ID},
    },
)
_OUTPUT = object_of(
    "share",
    {
        "cut": or_null(ID),
        "bin": or_null(ID),
        "kind": or_null(ID),
        "worth": MAYBE_DECIMAL,
        "name": NAME,
        "share": DECIMAL,
        "sd": {"type": ["number", "null"], "minimum": 0, "maximum": 0.5},
    },
)
_KIND = object_of(
    "id styles",
    {
        "id": ID,
        "name": NAME,
        "species": NAME,
        "holds_days": or_null(whole(0, MOST_HOLDS)),
        "styles": list_of(
            object_of(
                "id minutes outputs",
                {
                    "id": ID,
                    "name": NAME,
                    "minutes": DECIMAL,
                    "outputs": list_of(_OUTPUT, MOST_OUTPUTS, 1),
                },
            ),
            MOST_STYLES,
            1,
        ),
    },
)
_PIECE = object_of(
    "tag kind weight",
    {
        "tag": ID,
        "kind": ID,
        "weight": DECIMAL,
        "shrink_per_day": MAYBE_DECIMAL,
        "from": or_null(DAY),
        "until": or_null(DAY),
        "must": FLAG,
        "worth_left": MAYBE_DECIMAL,
        "claims": maybe_list(
            object_of(
                "booking weight due",
                {"booking": ID, "name": NAME, "weight": DECIMAL, "due": DAY},
            ),
            MOST_CLAIMS,
        ),
    },
)
_CUT = object_of(
    "id price keeps_days usual",
    {
        "id": ID,
        "name": NAME,
        "species": NAME,
        "price": DECIMAL,
        "keeps_days": whole(0, MOST_KEEPS),
        "usual": each_day(DECIMAL),
        "elasticity": {
            "type": ["number", "null"], "minimum": LEAST_ELASTICITY, "maximum": MOST_ELASTICITY,
        },
        "steps": or_null(list_of(DECIMAL, MOST_STEPS, 1)),
        "salvage": MAYBE_DECIMAL,
        "ground": or_null(
            object_of(
                "bin",
                {"bin": ID, "yield": MAYBE_DECIMAL, "minutes_per_unit": MAYBE_DECIMAL},
            )
        ),
        "left": or_null(object_of("worth", {"worth": DECIMAL, "takes": MAYBE_DECIMAL})),
        "stock": _STOCK,
    },
)  # fmt: skip
_BIN = object_of(
    "id fat keeps_days",
    {
        "id": ID,
        "name": NAME,
        "species": NAME,
        "fat": DECIMAL,
        "keeps_days": whole(0, MOST_KEEPS),
        "worth": MAYBE_DECIMAL,
        "stock": _STOCK,
    },
)
_MAKE = object_of(
    "cut bins",
    {
        "cut": ID,
        "name": NAME,
        "bins": list_of(ID, MOST_BINS, 1),
        "fat_max": MAYBE_DECIMAL,
        "fat_min": MAYBE_DECIMAL,
        "added": MAYBE_DECIMAL,
        "added_cost": MAYBE_DECIMAL,
        "cost_per_unit": MAYBE_DECIMAL,
        "minutes_per_unit": MAYBE_DECIMAL,
    },
)
_BOOKING = object_of(
    "id due lines",
    {
        "id": ID,
        "name": NAME,
        "due": DAY,
        "lines": list_of(
            object_of("cut weight", {"cut": ID, "weight": DECIMAL, "price": MAYBE_DECIMAL}),
            MOST_LINES,
            1,
        ),
    },
)
_LOCK = object_of("tag", {"tag": ID, "style": or_null(ID), "day": or_null(DAY)})
_PROBLEM = {
    "$schema": DRAFT,
    "title": SCHEMA_ID,
    **object_of(
        "schema days hands cuts",
        {
            "schema": {"const": SCHEMA_ID},
            "name": NAME,
            "currency": {"type": ["string", "null"], "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even", None]},
            "unit": {"enum": [*UNITS, None]},
            "days": each_day(object_of("day", {"day": DATE, "open": FLAG})),
            "hands": list_of(_HAND, MOST_HANDS, 1),
            "case_room": MAYBE_DECIMAL,
            "kinds": maybe_list(_KIND, MOST_KINDS),
            "rail": maybe_list(_PIECE, MOST_PIECES),
            "cuts": list_of(_CUT, MOST_CUTS, 1),
            "bins": maybe_list(_BIN, MOST_BINS),
            "makes": maybe_list(_MAKE, MOST_MAKES),
            "bookings": maybe_list(_BOOKING, MOST_BOOKINGS),
            "locks": maybe_list(_LOCK, MOST_PIECES),
            "before": maybe_list(_LOCK, MOST_BEFORE),
            "gap": {"type": ["number", "null"], "minimum": 0, "maximum": MOST_GAP},
            "reasons": FLAG,
        },
    ),
}

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, Schema] = {
    "bench": _PROBLEM,
    "bench.plan": PLAN,
}
