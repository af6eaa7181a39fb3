"""JSON Schema of the cutting plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from collop.bench.bench_schema_parts import (
    DATE,
    DAY,
    DECIMAL,
    DRAFT,
    SIGNED,
    TEXT,
    Schema,
    all_of,
    each_day,
    lines_of,
    object_of,
    or_null,
)
from collop.bench.reading import UNITS

__all__ = ["PLAN"]

_BREAK = {
    "id": TEXT,
    "tag": TEXT,
    "of": or_null(TEXT),
    "kind": TEXT,
    "style": TEXT,
    "style_name": TEXT,
    "day": DAY,
    "date": DATE,
    "weight": DECIMAL,
    "claimed": DECIMAL,
    "minutes": DECIMAL,
    "outputs": lines_of(
        {
            "to": {"enum": ["cut", "bin", "kind", "worth"]},
            "id": TEXT,
            "name": TEXT,
            "weight": DECIMAL,
            "claimed": DECIMAL,
        }
    ),
    "covers": lines_of(
        {
            "cut": TEXT,
            "name": TEXT,
            "booking": or_null(TEXT),
            "through": or_null(TEXT),
            "weight": DECIMAL,
            "first_day": DAY,
            "last_day": DAY,
        }
    ),
    "surplus": lines_of(
        {
            "cut": TEXT,
            "name": TEXT,
            "through": or_null(TEXT),
            "weight": DECIMAL,
            "way": {"enum": ["mark-down", "ground", "left", "spoilt", "sold as trim"]},
            "day": DAY,
            "say": TEXT,
        }
    ),
    "runner_up": or_null(
        all_of(
            {
                "style": or_null(TEXT),
                "style_name": or_null(TEXT),
                "day": or_null(DAY),
                "loses": SIGNED,
                "wins_if": or_null(all_of({"cut": TEXT, "name": TEXT, "price": DECIMAL})),
                "say": TEXT,
            }
        )
    ),
    "say": TEXT,
}
_CUT_PLAN = {
    "id": TEXT,
    "name": TEXT,
    **dict.fromkeys(("opening", "made", "booked", "sold", "ground", "spoilt", "left"), DECIMAL),
    "worth": each_day(SIGNED),
    "parting": each_day(SIGNED),
    "days": lines_of(
        {
            "day": DAY,
            **dict.fromkeys(("in", "booked", "sold"), DECIMAL),
            "at": lines_of({"step": DECIMAL, "weight": DECIMAL}),
            **dict.fromkeys(("ground", "spoilt", "on_hand"), DECIMAL),
        }
    ),
}
_BIN_PLAN = {
    "id": TEXT,
    "name": TEXT,
    **dict.fromkeys(("opening", "made", "used", "sold", "spoilt", "left"), DECIMAL),
    "worth": each_day(SIGNED),
    "days": lines_of(
        {"day": DAY, **dict.fromkeys(("in", "used", "sold", "spoilt", "on_hand"), DECIMAL)}
    ),
}
_CHANCE: Schema = {"type": ["number", "null"], "minimum": 0, "maximum": 1}
_SHORT = {
    "booking": TEXT,
    "name": TEXT,
    "cut": or_null(TEXT),
    "cut_name": or_null(TEXT),
    "weight": DECIMAL,
    "due": DAY,
    "say": TEXT,
    "saves": lines_of(
        {
            "change": {"enum": ["piece", "animal", "hours", "date", "weight"]},
            "to": TEXT,
            "say": TEXT,
        }
    ),
}
#: `over` is told where reasons are.
_CASE_ROOM = object_of(
    "most used", {"most": DECIMAL, "used": each_day(DECIMAL), "over": each_day(DECIMAL)}
)
_MONEY = ("bookings", "sales", "by_products", "bins", "salvage", "left", "kept", "labour",
          "overtime", "making")  # fmt: skip
_PLAN: Schema = {
    "schema": {"const": "collop.bench.plan/1"},
    "name": TEXT,
    "currency": TEXT,
    "rounding": {"enum": ["half-up", "half-even"]},
    "unit": {"enum": list(UNITS)},
    "days": each_day(DATE),
    "answer": {"enum": ["all", "short"]},
    "proof": all_of(
        {
            "status": {"enum": ["optimal", "gap"]},
            "gap": {"type": "number", "minimum": 0},
            "bound": SIGNED,
        }
    ),
    "contribution": SIGNED,
    "money": all_of(dict.fromkeys(_MONEY, SIGNED)),
    "breaks": lines_of(_BREAK),
    "kept": lines_of(
        {"tag": TEXT, "kind": TEXT, "weight": DECIMAL, "worth_left": DECIMAL, "say": TEXT}
    ),
    "makes": lines_of(
        {
            "cut": TEXT,
            "name": TEXT,
            "day": DAY,
            "weight": DECIMAL,
            "from": lines_of({"bin": TEXT, "weight": DECIMAL}),
            "fat": {"type": ["number", "null"], "minimum": 0, "maximum": 1},
            "minutes": DECIMAL,
        }
    ),
    "grinds": lines_of(
        {"cut": TEXT, "name": TEXT, "bin": TEXT, "day": DAY, "weight": DECIMAL,
         "gives": DECIMAL}
    ),
    "cuts": lines_of(_CUT_PLAN),
    "bins": lines_of(_BIN_PLAN),
    "pieces": lines_of(
        {"tag": TEXT, "kind": TEXT, "worth": SIGNED, "worth_per_unit": SIGNED, "style": TEXT,
         "day": DAY, "broken": {"type": "boolean"}}
    ),
    "kinds": lines_of(
        {"id": TEXT, "name": TEXT, "worth_per_unit": SIGNED, "day": DAY, "style": TEXT}
    ),
    "hands": lines_of(
        {"name": TEXT, **dict.fromkeys(("used", "overtime", "idle"), each_day(DECIMAL))}
    ),
    "minute_worth": each_day(SIGNED),
    "case_room": or_null(_CASE_ROOM),
    "bookings": lines_of(
        {
            "id": TEXT,
            "name": TEXT,
            "due": DAY,
            "met": {"type": "boolean"},
            "lines": lines_of(
                {"cut": TEXT, "weight": DECIMAL, "met": DECIMAL, "short": DECIMAL,
                 "chance": _CHANCE}
            ),
        }
    ),
    "claims": lines_of(
        {"booking": TEXT, "tag": TEXT, "weight": DECIMAL, "due": DAY,
         "met": {"type": "boolean"}, "day": or_null(DAY)}
    ),
    "short": lines_of(_SHORT),
    "assumptions": {"type": "array", "items": TEXT},
}  # fmt: skip

#: The schema of ``collop.bench.plan/1``.
PLAN: Schema = {"$schema": DRAFT, "title": "collop.bench.plan/1", **all_of(_PLAN)}
