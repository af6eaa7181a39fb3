"""JSON Schema of a household's freezer order and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.carcass.freezer_reading import FEES, FORMS, TO_LEAVE
from collop.wire import SCHEMA_DRAFT, all_of, object_of

__all__ = ["SCHEMAS"]

_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_SIGNED = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_TEXT = {"type": "string"}
_MAYBE_TEXT = {"type": ["string", "null"]}
_COUNT = {"type": "integer", "minimum": 0}
_FLAG = {"type": "boolean"}
_IS = {"enum": ["hot", "cold"]}
_UNIT = {"enum": ["lb", "kg"]}
_BONE = {"enum": ["in", "out"]}
_ROUNDING = {"enum": ["half-up", "half-even"]}


def _list(items: dict[str, Any], most: int | None = None) -> dict[str, Any]:
    found = {"type": "array", "items": items}
    return found if most is None else found | {"maxItems": most}


_CHOICE = object_of("large_cut", {
    "large_cut": _TEXT, "bone": _BONE, "as": {"enum": list(FORMS)}, "style": _TEXT,
    "thickness": _MAYBE_DECIMAL, "thickness_unit": {"enum": ["in", "mm"]},
    "pieces_per_pack": {"type": "integer", "minimum": 1, "maximum": 50},
    "roast_weight": _MAYBE_DECIMAL,
})  # fmt: skip
_MINCE = object_of("", {
    "share": _DECIMAL, "pack_weight": _MAYBE_DECIMAL, "stew_pack_weight": _MAYBE_DECIMAL,
    "fat_pct": _MAYBE_DECIMAL, "trim_fat_pct": _DECIMAL,
})  # fmt: skip
_PRICE = object_of("", {
    "per_unit": _MAYBE_DECIMAL, "weight": _MAYBE_DECIMAL, "weight_is": _IS,
})  # fmt: skip
_WEIGHED = object_of("cut weight", {"cut": _TEXT, "packs": _COUNT, "weight": _DECIMAL})
_PART = object_of("piece weight", {
    "tag": _TEXT, "species": _TEXT, "piece": _TEXT, "large_cuts": _list(_TEXT),
    "weight": _DECIMAL, "weight_is": _IS, "share": _TEXT, "take": _MAYBE_DECIMAL,
    "trimmed": _FLAG, "take_home_pct": _MAYBE_DECIMAL, "choices": _list(_CHOICE, 40),
    "mince": {"anyOf": [_MINCE, {"type": "null"}]}, "bones": {"enum": list(TO_LEAVE)},
    "fat": {"enum": list(TO_LEAVE)}, "price": {"anyOf": [_PRICE, {"type": "null"}]},
    "weighed": {"anyOf": [_list(_WEIGHED, 400) | {"minItems": 1}, {"type": "null"}]},
})  # fmt: skip
_FEE = all_of({"name": _TEXT, "per": {"enum": list(FEES)}, "amount": _DECIMAL})
_BOARD = all_of({"name": _TEXT, "species": _TEXT, "price_per_unit": _DECIMAL})
_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": "collop.freezer/1",
    **object_of("schema parts", {
        "schema": {"const": "collop.freezer/1"}, "name": _TEXT, "unit": _UNIT, "currency": _TEXT,
        "rounding": _ROUNDING, "parts": _list(_PART, 8) | {"minItems": 1},
        "fees": _list(_FEE, 12), "board": _list(_BOARD, 400),
    }),
}  # fmt: skip

_PACK = all_of({"count": _COUNT, "pieces": _COUNT, "weight": _DECIMAL})
_LINE = all_of({
    "large_cut": _TEXT, "cut": _TEXT, "as": {"enum": [*FORMS, "bones", "fat"]}, "style": _TEXT,
    "bone": _BONE, "thickness": _TEXT, "pieces": _COUNT, "packs": _COUNT, "weight": _DECIMAL,
    "pack_weights": _list(_PACK), "label": _TEXT, "board_line": _MAYBE_TEXT,
    "board_price": _MAYBE_DECIMAL, "board_money": _MAYBE_DECIMAL, "basis": _TEXT,
    "from_memory": _FLAG,
})  # fmt: skip
_LEFT = all_of({"what": _TEXT, "weight": _DECIMAL, "why": _TEXT})
_PUBLISHED = all_of({
    "what": _TEXT, "low": _DECIMAL, "high": _DECIMAL, "source": _TEXT, "from_memory": _FLAG,
})  # fmt: skip
_BENCH = all_of({
    "shout": _COUNT, "large_cut": _TEXT, "say": _TEXT, "style": _TEXT, "packs": _COUNT,
    "do": _list(_TEXT),
})  # fmt: skip
_WEIGHED_PLAN = all_of({
    "packs": _COUNT, "take_home": _DECIMAL, "left_and_loss": _DECIMAL, "over_plan": _SIGNED,
    "closes": _FLAG,
})  # fmt: skip
_PART_PLAN = all_of({
    "tag": _TEXT, "piece": _TEXT, "species": _TEXT, "share": _TEXT, "weight": _DECIMAL,
    "weight_is": _IS, "hanging_weight": _DECIMAL, "hanging_is": _IS, "hanging_money": _DECIMAL,
    "lines": _list(_LINE), "left": _list(_LEFT), "take_home": _DECIMAL,
    "left_weight": _DECIMAL, "loss": _DECIMAL, "closes": _FLAG, "packs": _COUNT, "meat": _DECIMAL,
    "meat_pct": _DECIMAL, "outer_trim_pct": _DECIMAL, "mince_fat_pct": _MAYBE_DECIMAL,
    "published": _list(_PUBLISHED), "bench": _list(_BENCH),
    "weighed": {"anyOf": [_WEIGHED_PLAN, {"type": "null"}]},
})  # fmt: skip
_ROOM = all_of({
    "cubic_feet_low": _DECIMAL, "cubic_feet_high": _DECIMAL, "litres_low": _DECIMAL,
    "litres_high": _DECIMAL, "mark": _TEXT,
})  # fmt: skip
_MONEY = all_of({
    "lines": _list(all_of({"what": _TEXT, "how": _TEXT, "money": _DECIMAL})), "total": _DECIMAL,
    "per_take_home": _MAYBE_DECIMAL, "per_meat": _MAYBE_DECIMAL, "board": _MAYBE_DECIMAL,
    "board_weight": _DECIMAL, "no_board_weight": _DECIMAL, "half_cent": _FLAG,
})  # fmt: skip
_STORED = all_of({
    "kind": _TEXT, "freezer": _TEXT, "rule_id": _TEXT, "source": _TEXT, "from_memory": _FLAG,
})  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "freezer": _PROBLEM,
    "freezer.plan": {
        "$schema": SCHEMA_DRAFT,
        "title": "collop.freezer.plan/1",
        **all_of({
            "schema": {"const": "collop.freezer.plan/1"}, "name": _TEXT, "unit": _UNIT,
            "currency": _TEXT, "rounding": _ROUNDING, "weight": _DECIMAL, "take_home": _DECIMAL,
            "left": _DECIMAL, "loss": _DECIMAL, "packs": _COUNT, "take_home_pct": _DECIMAL,
            "meat": _DECIMAL, "is_weighed": _FLAG, "parts": _list(_PART_PLAN),
            "freezer": _ROOM, "money": _MONEY, "storage": _list(_STORED),
            "assumptions": _list(_TEXT),
        }),
    },
}  # fmt: skip
