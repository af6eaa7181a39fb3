"""JSON Schema of a replay and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from collop.bench.bench_schema_parts import (
    DATE,
    DAY,
    DECIMAL,
    DRAFT,
    FLAG,
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
from collop.bench.replaying import PLAN_ID
from collop.bench.replaying_reading import (
    MOST_CUTS,
    MOST_DAYS,
    MOST_KEEPS,
    MOST_LOTS,
    MOST_PARTS,
    MOST_PIECES,
    MOST_STYLES,
    SCHEMA_ID,
    UNITS,
)

__all__ = ["SCHEMAS"]

_MAYBE_DAY = or_null(DAY)


def _parts(amount: str) -> Schema:
    return list_of(
        object_of(amount, {"cut": or_null(ID), "worth": MAYBE_DECIMAL, "name": NAME,
                           amount: DECIMAL}),
        MOST_PARTS,
    )  # fmt: skip


_CUT_DAY = object_of(
    "",
    {
        **dict.fromkeys(
            ("sold", "money", "booked", "booked_money", "booked_short", "binned", "other_in",
             "other_out"),
            MAYBE_DECIMAL,
        ),
        "sold_out": {"type": ["number", "null"], "minimum": 0, "maximum": 1},
    },
)  # fmt: skip
_CUT = object_of(
    "id price keeps_days days",
    {
        "id": ID,
        "name": NAME,
        "price": DECIMAL,
        "keeps_days": whole(0, MOST_KEEPS),
        "left_worth": MAYBE_DECIMAL,
        "usual": MAYBE_DECIMAL,
        "stock": maybe_list(
            object_of("weight days_left", {"weight": DECIMAL, "days_left": whole(0, MOST_KEEPS)}),
            MOST_LOTS,
        ),
        "days": list_of(_CUT_DAY, MOST_DAYS, 1),
    },
)
_STYLE = object_of(
    "id parts", {"id": ID, "name": NAME, "minutes": MAYBE_DECIMAL, "parts": _parts("share")}
)
_PIECE = object_of(
    "tag weights",
    {
        "tag": ID,
        "name": NAME,
        "weights": list_of(MAYBE_DECIMAL, MOST_DAYS, 1),
        "worth_left": MAYBE_DECIMAL,
        "styles": maybe_list(_STYLE, MOST_STYLES),
        "actual": or_null(
            object_of(
                "style day",
                {"style": ID, "name": NAME, "day": DAY, "minutes": MAYBE_DECIMAL,
                 "parts": {**_parts("weight"), "type": ["array", "null"]}},
            )
        ),
    },
)  # fmt: skip
_CHANGE = object_of("tag", {"tag": ID, "style": or_null(ID), "day": _MAYBE_DAY})
_PROBLEM = object_of(
    "schema days",
    {
        "schema": {"const": SCHEMA_ID},
        "name": NAME,
        "currency": {"type": ["string", "null"]},
        "rounding": {"enum": ["half-up", "half-even", None]},
        "unit": {"enum": [*UNITS, None]},
        "days": list_of(object_of("day", {"day": DATE, "open": FLAG}), MOST_DAYS, 1),
        "per_hour": MAYBE_DECIMAL,
        "cuts": maybe_list(_CUT, MOST_CUTS),
        "pieces": maybe_list(_PIECE, MOST_PIECES),
        "changes": maybe_list(_CHANGE, MOST_PIECES),
    },
)
_MONEY = all_of(
    dict.fromkeys(("sales", "bookings", "by_products", "left", "kept", "labour"), SIGNED)
)
_FIGURES = all_of(
    {
        "contribution": SIGNED,
        "money": _MONEY,
        **dict.fromkeys(
            ("minutes", "sold", "booked", "binned", "left", "short", "short_estimated"), DECIMAL
        ),
    }
)
_LINE: Schema = {
    "what": {"enum": ["cut", "piece"]},
    "id": TEXT,
    "name": TEXT,
    "money": {"type": "object", "additionalProperties": SIGNED},
    "more": SIGNED,
}
_BREAK = or_null(
    all_of(
        {
            "style": TEXT,
            "style_name": TEXT,
            "day": DAY,
            "minutes": DECIMAL,
            "parts": lines_of({"cut": or_null(TEXT), "name": TEXT, "weight": DECIMAL}),
        }
    )
)
_WALKED: Schema = dict.fromkeys(("came", "booked", "sold", "binned", "other", "left"), DECIMAL)
_WALK = all_of({**_WALKED, "days": each_day(all_of(_WALKED))})
_THREE = ("actual", "seen", "estimated")
_PLAN: Schema = {
    "schema": {"const": PLAN_ID},
    "name": TEXT,
    "currency": TEXT,
    "rounding": TEXT,
    "unit": TEXT,
    "days": each_day(TEXT),
    "is_same": {"type": "boolean"},
    **dict.fromkeys(_THREE, _FIGURES),
    "more": all_of({"seen": SIGNED, "estimated": SIGNED}),
    "lines": all_of({"seen": lines_of(_LINE), "estimated": lines_of(_LINE)}),
    "pieces": lines_of(
        {"tag": TEXT, "name": TEXT, "changed": {"type": "boolean"}, "was": _BREAK, "now": _BREAK}
    ),
    "cuts": lines_of(
        {
            "id": TEXT,
            "name": TEXT,
            "demand": all_of(
                {"seen": each_day(DECIMAL), "estimated": each_day(DECIMAL),
                 "guessed": each_day({"type": "boolean"})}
            ),
            "short": all_of(dict.fromkeys(_THREE, DECIMAL)),
            **dict.fromkeys(_THREE, _WALK),
        }
    ),
    "say": {"type": "array", "items": TEXT},
    "assumptions": {"type": "array", "items": TEXT},
}  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, Schema] = {
    "replay": {"$schema": DRAFT, "title": SCHEMA_ID, **_PROBLEM},
    "replay.plan": {"$schema": DRAFT, "title": PLAN_ID, **all_of(_PLAN)},
}
