"""JSON Schema of a farm call and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from collop.bench.bench_schema import SCHEMAS as BENCH
from collop.bench.bench_schema_parts import (
    DATE,
    DECIMAL,
    DRAFT,
    ID,
    MAYBE_DECIMAL,
    NAME,
    SIGNED,
    TEXT,
    Schema,
    all_of,
    lines_of,
    list_of,
    maybe_list,
    object_of,
    or_null,
    whole,
)
from collop.bench.farm_reading import (
    LEAST_INDEX,
    MOST_ANIMALS,
    MOST_COUNT,
    MOST_CV,
    MOST_FACTOR,
    MOST_HANGING,
    MOST_INDEX,
    MOST_PROMISES,
    MOST_SCENARIOS,
    MOST_SEASONS,
    SCHEMA_ID,
    UNITS,
)
from collop.bench.reading_case import MOST_BINS, MOST_CUTS

__all__ = ["SCHEMAS"]

_ASKED = BENCH["bench"]["properties"]
_LENT = _ASKED["cuts"]["items"]["properties"]
_COUNT = whole(0, MOST_COUNT)
_CV = {"type": ["number", "null"], "minimum": 0, "maximum": MOST_CV}
_MAYBE_WHOLE = or_null(whole(0, 2**31 - 1))
_ANIMAL = object_of(
    "id kind weight price_per_unit most",
    {
        "id": ID,
        "name": NAME,
        "kind": ID,
        "weight": DECIMAL,
        "price_per_unit": DECIMAL,
        "haulage": MAYBE_DECIMAL,
        "least": or_null(_COUNT),
        "most": _COUNT,
        "usual": or_null(_COUNT),
    },
)
_CUT = object_of(
    "id price week",
    {
        **{key: _LENT[key] for key in ("id", "name", "species", "price", "elasticity", "steps",
                                       "salvage", "ground")},
        "week": DECIMAL,
        "cv": _CV,
        "on_hand": MAYBE_DECIMAL,
    },
)  # fmt: skip
_BIN = object_of(
    "id fat",
    {"id": ID, "name": NAME, "species": NAME, "fat": DECIMAL, "worth": MAYBE_DECIMAL,
     "on_hand": MAYBE_DECIMAL},
)  # fmt: skip
_PROMISE = object_of(
    "name cut weight", {"name": ID, "cut": ID, "weight": DECIMAL, "price": MAYBE_DECIMAL}
)
_SEASON = object_of(
    "what index",
    {
        "what": ID,
        "index": {"type": "number", "minimum": LEAST_INDEX, "maximum": MOST_INDEX},
        "why": NAME,
        "source": NAME,
    },
)
_LISTED = object_of(
    "chance",
    {
        "name": NAME,
        "chance": {"type": "number", "exclusiveMinimum": 0, "maximum": 1},
        "factors": {
            "type": ["object", "null"],
            "additionalProperties": {"type": "number", "minimum": 0, "maximum": MOST_FACTOR},
        },
    },
)
_PROBLEM: Schema = {
    "$schema": DRAFT,
    "title": SCHEMA_ID,
    **object_of(
        "schema week_of animals kinds cuts",
        {
            "schema": {"const": SCHEMA_ID},
            **{key: _ASKED[key] for key in ("name", "currency", "rounding")},
            "unit": {"enum": [*UNITS, None]},
            "week_of": DATE,
            "animals": list_of(_ANIMAL, MOST_ANIMALS, 1),
            "kinds": _ASKED["kinds"],
            "hanging": maybe_list(
                object_of(
                    "kind weight", {"kind": ID, "weight": DECIMAL, "worth_left": MAYBE_DECIMAL}
                ),
                MOST_HANGING,
            ),
            "cuts": list_of(_CUT, MOST_CUTS, 1),
            "bins": maybe_list(_BIN, MOST_BINS),
            "makes": _ASKED["makes"],
            "standing": maybe_list(_PROMISE, MOST_PROMISES),
            "bookings": maybe_list(_PROMISE, MOST_PROMISES),
            "labour": or_null(
                object_of(
                    "minutes",
                    {
                        "minutes": DECIMAL,
                        "per_hour": MAYBE_DECIMAL,
                        "overtime_minutes": MAYBE_DECIMAL,
                        "overtime_per_hour": MAYBE_DECIMAL,
                    },
                )
            ),
            "room": or_null(object_of("rail", {"rail": DECIMAL, "hanging": MAYBE_DECIMAL})),
            "season": maybe_list(_SEASON, MOST_SEASONS),
            "holidays": maybe_list(_SEASON, MOST_SEASONS),
            "scenarios": or_null(
                {
                    "anyOf": [
                        object_of(
                            "", {"count": _MAYBE_WHOLE, "seed": _MAYBE_WHOLE, "common_cv": _CV}
                        ),
                        object_of("list", {"list": list_of(_LISTED, MOST_SCENARIOS, 1)}),
                    ]
                }
            ),
        },
    ),
}
_NUMBER: Schema = {"type": "number"}
_STEP = all_of({"money": SIGNED, "short": SIGNED, "say": TEXT})
_PART = all_of({"weight": DECIMAL, "money": DECIMAL})
_PROMISED = lines_of(
    {
        "name": TEXT,
        "cut": ID,
        "asks": DECIMAL,
        "gets": DECIMAL,
        "animals_needed": {"type": ["integer", "null"], "minimum": 1},
        "say": TEXT,
    }
)
_MONEY = ("sales", "standing", "bookings", "by_products", "bins", "salvage", "kept", "labour",
          "overtime", "making", "animals")  # fmt: skip
_PLAN: Schema = {
    "$schema": DRAFT,
    "title": "collop.farmcall.plan/1",
    **all_of(
        {
            "schema": {"const": "collop.farmcall.plan/1"},
            "name": TEXT,
            "currency": TEXT,
            "rounding": TEXT,
            "unit": {"enum": list(UNITS)},
            "week_of": DATE,
            "orders": lines_of(
                {
                    "id": ID,
                    "name": TEXT,
                    "count": _COUNT,
                    "weight": DECIMAL,
                    "cost": DECIMAL,
                    "one_more": _STEP,
                    "one_less": or_null(_STEP),
                }
            ),
            "expected": SIGNED,
            "spread": all_of({"low": SIGNED, "usual": SIGNED, "high": SIGNED}),
            "money": all_of(dict.fromkeys(_MONEY, SIGNED)),
            "cutting": lines_of(
                {
                    "kind": ID,
                    "name": TEXT,
                    "style": ID,
                    "style_name": TEXT,
                    "pieces": _NUMBER,
                    "weight": DECIMAL,
                }
            ),
            "cuts": lines_of(
                {
                    "id": ID,
                    "name": TEXT,
                    **dict.fromkeys(
                        ("on_hand", "made", "wanted", "sold", "short", "surplus"), DECIMAL
                    ),
                    **dict.fromkeys(("at_board", "marked_down", "ground", "salvage"), _PART),
                    "chance_short": {"type": "number", "minimum": 0, "maximum": 1},
                }
            ),
            "bins": lines_of(
                {"id": ID, "name": TEXT,
                 **dict.fromkeys(("on_hand", "made", "used", "sold"), DECIMAL)}
            ),
            "makes": lines_of(
                {
                    "cut": ID,
                    "name": TEXT,
                    "weight": DECIMAL,
                    "from": lines_of({"bin": ID, "weight": DECIMAL}),
                }
            ),
            "ends": lines_of(
                {
                    "cut": ID,
                    "name": TEXT,
                    "weight": DECIMAL,
                    "ways": lines_of({"way": TEXT, "weight": DECIMAL, "money": SIGNED}),
                    "say": TEXT,
                }
            ),
            "standing": _PROMISED,
            "bookings": _PROMISED,
            "room": or_null(
                all_of({"most": DECIMAL, "used": DECIMAL, "binds": {"type": "boolean"}})
            ),
            "worth": {"type": "object", "additionalProperties": SIGNED},
            "scenarios": lines_of({"name": TEXT, "chance": _NUMBER, "contribution": SIGNED}),
            "say": {"type": "array", "minItems": 1, "items": TEXT},
            "proof": all_of(
                {
                    "status": {"enum": ["optimal", "gap"]},
                    "gap": _NUMBER,
                    "objective": SIGNED,
                    "bound": SIGNED,
                }
            ),
            "assumptions": {"type": "array", "items": TEXT},
        }
    ),
}  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, Schema] = {"farmcall": _PROBLEM, "farmcall.plan": _PLAN}
