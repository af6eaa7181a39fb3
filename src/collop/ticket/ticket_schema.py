"""JSON Schema of a ticket and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.rules.labelling import CLASSES, MOST_DAYS_VACUUM, TENDERISED
from collop.ticket.layout_model import FORMS
from collop.ticket.plan_lines import ROLES, SIDES, WEIGHTS
from collop.ticket.problem import PLAN_ID, SCHEMA_ID
from collop.ticket.reading import MOST_CODES, UNITS
from collop.ticket.reading_product import COOK_AS, MOST_LISTED
from collop.ticket.symbols import KINDS
from collop.ticket.variable import STRUCTURES
from collop.wire import SCHEMA_DRAFT, all_of, object_of

__all__ = ["SCHEMAS"]

_TEXT = {"type": "string"}
_MAYBE_TEXT = {"type": ["string", "null"]}
_NAME = {"type": "string", "minLength": 1}
_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_DAY = {"type": "string", "pattern": r"^20[0-9]{2}-[0-9]{2}-[0-9]{2}$"}
_MAYBE_DAY = {"anyOf": [_DAY, {"type": "null"}]}
_YES_NO = {"type": "boolean"}
_CURRENCY = {"type": "string", "pattern": "^[A-Z]{3}$"}
_ROUNDING = {"enum": ["half-up", "half-even"]}


def _list(items: dict[str, Any], most: int | None = None) -> dict[str, Any]:
    found: dict[str, Any] = {"type": "array", "items": items}
    return found if most is None else {**found, "maxItems": most}


def _maybe(schema: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [schema, {"type": "null"}]}


_ORIGIN = object_of(
    "",
    dict.fromkeys(("country", "words", "born", "raised", "slaughtered", "processed"), _MAYBE_TEXT),
)
_PRODUCT = object_of(
    "name class contains",
    {
        "name": _NAME,
        "species": _MAYBE_TEXT,
        "class": {"enum": list(CLASSES)},
        "cook_as": {"enum": [*COOK_AS, None]},
        "item": _MAYBE_TEXT,
        "gtin": _MAYBE_TEXT,
        "ingredients": _maybe(_list(_NAME, MOST_LISTED)),
        "contains": _list(_NAME, MOST_LISTED),
        "casing": _MAYBE_TEXT,
        "lean_pct": _MAYBE_DECIMAL,
        "fat_pct": _MAYBE_DECIMAL,
        "tenderised": {"enum": list(TENDERISED)},
        "frozen": _YES_NO,
        "previously_frozen": _YES_NO,
        "vacuum": _YES_NO,
        "origin": _maybe(_ORIGIN),
    },
)
_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": SCHEMA_ID,
    **object_of(
        "schema form shop product weight price lot packed",
        {
            "schema": {"const": SCHEMA_ID},
            "ticket": _MAYBE_TEXT,
            "trace": _MAYBE_TEXT,
            "form": object_of("size", {"size": {"enum": list(FORMS)}, "dpi": {"enum": [203, 300]}}),
            "shop": object_of(
                "name", {"name": _NAME, "place": _MAYBE_TEXT, "establishment": _MAYBE_TEXT}
            ),
            "product": _PRODUCT,
            "weight": object_of(
                "gross tare",
                {"gross": _DECIMAL, "tare": _DECIMAL, "unit": {"enum": list(UNITS)},
                 "division": _MAYBE_DECIMAL, "capacity": _MAYBE_DECIMAL},
            ),
            "price": object_of(
                "amount", {"amount": _DECIMAL, "per": {"enum": list(UNITS)}, "currency": _CURRENCY}
            ),
            "lot": _NAME,
            "packed": _DAY,
            "use_by": _MAYBE_DAY,
            "date_words": _MAYBE_TEXT,
            "keep_at_most_f": _MAYBE_DECIMAL,
            "vacuum_days": {"type": ["integer", "null"], "minimum": 1,
                            "maximum": MOST_DAYS_VACUUM},
            "codes": {**_list({"enum": list(KINDS)}, MOST_CODES), "uniqueItems": True},
            "ean13": _maybe(object_of(
                "", {"place": {"enum": list(dict.fromkeys(one.place for one in STRUCTURES))},
                     "prefix": {"type": "string", "pattern": "^[0-9]{2}$"}},
            )),
            "rounding": _ROUNDING,
            "weight_unit_also": _YES_NO,
        },
    ),
}  # fmt: skip

_ELEMENT = all_of(
    {"element": _NAME, "words": _NAME, "rule": _TEXT, "source": _NAME,
     "status": {"enum": ["seen", "memory", "computed"]}},
)  # fmt: skip
_LINE = all_of(
    {"role": {"enum": list(ROLES)}, "text": _NAME, "weight": {"enum": list(WEIGHTS)},
     "bold": _YES_NO, "side": {"enum": list(SIDES)}},
)  # fmt: skip
_DOTS = {"type": "integer", "minimum": 1}
_PLAN = {
    "$schema": SCHEMA_DRAFT,
    "title": PLAN_ID,
    **all_of(
        {
            "schema": {"const": PLAN_ID},
            "ticket": _MAYBE_TEXT,
            "form": all_of({"size": {"enum": list(FORMS)}, "dpi": {"enum": [203, 300]},
                            "width_dots": _DOTS, "height_dots": _DOTS}),
            "net": _DECIMAL,
            "unit": {"enum": list(UNITS)},
            "net_other": _DECIMAL,
            "other_unit": {"enum": list(UNITS)},
            "tare": _DECIMAL,
            "price_per": _DECIMAL,
            "price_unit": {"enum": list(UNITS)},
            "price_other": _DECIMAL,
            "total": _DECIMAL,
            "currency": _CURRENCY,
            "rounding": _ROUNDING,
            "elements": _list(_ELEMENT),
            "lines": _list(_LINE),
            "codes": _list(all_of({"kind": {"enum": list(KINDS)}, "data": _NAME, "text": _TEXT})),
            "cautions": _list(_NAME),
            "assumptions": _list(_NAME),
        }
    ),
}  # fmt: skip

#: Schemas by name; the plan of ``ticket`` is ``ticket.plan``.
SCHEMAS: dict[str, dict[str, Any]] = {"ticket": _PROBLEM, "ticket.plan": _PLAN}
