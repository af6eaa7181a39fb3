"""JSON Schema of the ask and its plan (draft 2020-12), written out by hand.

`collop.spread.reading` is what reads an ask; a test holds the two together.
"""

from __future__ import annotations

from typing import Any

from collop.fire.problem import FORMS, HEATS, METHODS
from collop.fire.reading_items import LONGEST_HOLD, LONGEST_REST, TREATMENTS
from collop.spread.problem import AIMS, DISH_STYLES
from collop.wire import SCHEMA_DRAFT, object_of

__all__ = ["SCHEMAS"]

_DECIMAL = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_MAYBE_DECIMAL = {"anyOf": [_DECIMAL, {"type": "null"}]}
_TEXT = {"type": "string"}
_MAYBE_TEXT = {"type": ["string", "null"]}
_TEXTS = {"type": "array", "items": _TEXT}
_NUMBER = {"type": "number"}
_STYLE = {"enum": list(DISH_STYLES)}


def _per_style(low: float, high: float) -> dict[str, Any]:
    bounds = {"type": "number", "minimum": low, "maximum": high}
    return {
        "type": "object",
        "properties": dict.fromkeys(DISH_STYLES, bounds),
        "additionalProperties": False,
    }


_GROUP = object_of(
    "name count",
    {
        "name": _TEXT,
        "count": {"type": "integer", "minimum": 0, "maximum": 2000},
        "kind": {"enum": ["adult", "child", "crew", "meat-free"]},
        "appetite": {"type": ["number", "null"], "minimum": 0.05, "maximum": 5},
        "avoids": {"type": "array", "items": {
            "type": "string", "pattern": "^(meat|(species|casing|allergen):.+)$"}},
    },
)  # fmt: skip

_CONTENT = {
    "anyOf": [
        _TEXT,
        object_of("", {"name": _MAYBE_TEXT, "species": _MAYBE_TEXT, "casing": _MAYBE_TEXT,
                     "contains": {"type": "array", "items": {"$ref": "#/$defs/content"}}}),
    ]
}  # fmt: skip

_BODY = object_of(
    "form thickness_mm",
    {
        "form": {"enum": list(FORMS)},
        "thickness_mm": {"type": "number", "minimum": 2, "maximum": 400},
        "measured": {"type": "boolean"},
        "shape": {"type": ["number", "null"], "minimum": 0, "maximum": 2},
        "start_c": {"type": "number", "minimum": -1, "maximum": 25},
        "fat_rich": {"type": "boolean"},
        "bone": {"type": "boolean"},
    },
)
_REST = {"type": ["integer", "null"], "minimum": 0, "maximum": LONGEST_REST}
_HOLD = _REST | {"maximum": LONGEST_HOLD}
_COOK = object_of(
    "",
    {
        "method": {"enum": [*METHODS, None]},
        "body": {"anyOf": [_BODY, {"type": "null"}]},
        "treatment": {"enum": list(TREATMENTS)},
        "rest_min": _REST,
        "hold_min": _HOLD,
        "carve": _MAYBE_TEXT,
        "done_f": {"type": ["number", "null"], "minimum": 32, "maximum": 212},
    },
)

_OFFER = object_of(
    "id name price_per_lb boneless_fraction",
    {
        "id": _TEXT,
        "name": _TEXT,
        "species": _MAYBE_TEXT,
        "contains": {"type": "array", "items": {"$ref": "#/$defs/content"}},
        "casing": _MAYBE_TEXT,
        "price_per_lb": _DECIMAL,
        "free_lb": _MAYBE_DECIMAL,
        "pieces_lb": {"anyOf": [{"type": "array", "items": _DECIMAL}, {"type": "null"}]},
        "frozen_lb": _MAYBE_DECIMAL,
        "boneless_fraction": {"type": "number", "minimum": 0, "maximum": 1},
        "grill_sq_in_per_lb": {"type": ["number", "null"], "minimum": 0},
        "minutes": {"type": "array", "items": _NUMBER, "minItems": 2, "maxItems": 2},
        "method": _MAYBE_TEXT,
        "styles": {"type": "array", "items": _STYLE},
        "slots": _TEXTS,
        "eating": _per_style(0, 1),
        "worth_per_lb": _MAYBE_DECIMAL,
        "days_left": {"type": ["integer", "null"]},
        "cover_days": {"type": ["number", "null"], "minimum": 0},
        "on_hand_lb": _MAYBE_DECIMAL,
        "neighbour": _MAYBE_TEXT,
        "side_lb": _MAYBE_DECIMAL,
        "cook_as": {"enum": ["whole", "ground", "poultry", "none", None]},
        "cook": {"anyOf": [_COOK, {"type": "null"}]},
    },
)

_FIRE = object_of(
    "",
    {
        "zones": {"type": "array", "maxItems": 6, "items": object_of(
            "name area_sq_in", {"name": _TEXT, "area_sq_in": {"type": "number", "minimum": 0}})},
        "minutes": {"type": "integer", "minimum": 0, "maximum": 10080},
        "oven": {"type": "boolean"},
        "pots": {"type": "integer", "minimum": 0, "maximum": 20},
        "usable_fraction": {"type": "number", "minimum": 0.05, "maximum": 1},
    },
)  # fmt: skip

_RULES = object_of(
    "",
    {
        "min_items": {"type": "integer", "minimum": 1, "maximum": 20},
        "max_items": {"type": "integer", "minimum": 1, "maximum": 20},
        "max_share": {"type": "number", "minimum": 0.05, "maximum": 1},
        "max_style_share": {"type": "number", "minimum": 0.05, "maximum": 1},
        "slots": {"type": "array", "items": {"anyOf": [
            _TEXT, object_of("slot", {"slot": _TEXT, "species": _MAYBE_TEXT})]}},
        "only": _TEXTS,
        "one_in": {"type": "integer", "minimum": 0, "maximum": 1000},
        "help_animal": {"type": "boolean"},
    },
)  # fmt: skip

_PIN = {"anyOf": [_TEXT, object_of("id", {"id": _TEXT, "weight_lb": _MAYBE_DECIMAL,
                                        "style": {"enum": [*DISH_STYLES, None]}})]}  # fmt: skip
_WEIGHT = {"type": "number", "minimum": 0, "maximum": 100}

_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": "collop.spread/1",
    "$defs": {"content": _CONTENT},
    **object_of(
        "schema groups offers",
        {
            "schema": {"const": "collop.spread/1"},
            "currency": {"type": "string", "pattern": "^[A-Z]{3}$"},
            "rounding": {"enum": ["half-up", "half-even"]},
            "groups": {"type": "array", "items": _GROUP},
            "need_oz": _per_style(0.5, 64),
            "portion_oz": _per_style(0.5, 64),
            "enough_chance": {"type": "number", "minimum": 0.5, "maximum": 0.9999},
            "appetite_cv": {"type": "number", "minimum": 0, "maximum": 1},
            "budget_total": _MAYBE_DECIMAL,
            "budget_per_head": _MAYBE_DECIMAL,
            "over_budget": {"type": "boolean"},
            "fire": {"anyOf": [_FIRE, {"type": "null"}]},
            "rules": _RULES,
            "use_at": _MAYBE_TEXT,
            "now": _MAYBE_TEXT,
            "offers": {"type": "array", "items": _OFFER, "minItems": 1},
            "pinned": {"type": "array", "items": _PIN},
            "want": {"type": "integer", "minimum": 1, "maximum": len(AIMS)},
            "weights": object_of("", dict.fromkeys(
                ("eating", "money", "animal", "leftover"), _WEIGHT)),
        },
    ),
}  # fmt: skip

_COUSIN = object_of(
    "id name price_per_lb style serving_cost less_per_lb less_per_serving percent",
    {
        "id": _TEXT,
        "name": _TEXT,
        "price_per_lb": _DECIMAL,
        "style": _STYLE,
        "serving_cost": _DECIMAL,
        "less_per_lb": _TEXT,
        "less_per_serving": _TEXT,
        "percent": {"type": "integer"},
    },
)

_COOK = object_of(
    "f c rest_min rule source",
    {"f": {"type": "integer"}, "c": {"type": "integer"}, "rest_min": {"type": "integer"},
     "rule": _TEXT, "source": _TEXT},
)  # fmt: skip

_LINE_PROPERTIES = {
    "id": _TEXT,
    "name": _TEXT,
    "weight_lb": _DECIMAL,
    "pieces": {"anyOf": [{"type": "array", "items": _DECIMAL}, {"type": "null"}]},
    "style": _STYLE,
    "slot": _MAYBE_TEXT,
    "price_per_lb": _DECIMAL,
    "line_total": _DECIMAL,
    "serving_cost": _DECIMAL,
    "portion_oz": _NUMBER,
    "share": _NUMBER,
    "meals": _NUMBER,
    "slow": {"type": "boolean"},
    "pinned": {"type": "boolean"},
    "meat_free": {"type": "boolean"},
    "not_for": _TEXTS,
    "contains": _TEXTS,
    "casing": _MAYBE_TEXT,
    "cook_to": {"anyOf": [_COOK, {"type": "null"}]},
    "reason": _TEXT,
    "cousins": {"type": "array", "items": _COUSIN},
}

_LOAD = object_of(
    "at_min minutes zone area_sq_in id heat wave ready_min eat_min own_tray",
    {"at_min": {"type": "integer"}, "minutes": {"type": "integer"}, "zone": _TEXT,
     "area_sq_in": _NUMBER, "id": _TEXT, "heat": {"enum": list(HEATS)},
     "wave": {"type": "integer", "minimum": 1}, "ready_min": {"type": "integer"},
     "eat_min": {"type": "integer"}, "own_tray": {"type": "boolean"}},
)  # fmt: skip

_COUNT = {"type": "integer", "minimum": 0}
_CHANCE = {"type": "number", "minimum": 0, "maximum": 1}

_SPREAD_PROPERTIES = {
    "aim": {"enum": list(AIMS)},
    "title": _TEXT,
    "proof": object_of("status gap among", {
        "status": {"enum": ["optimal", "gap"]}, "gap": {"type": "number", "minimum": 0},
        "among": _TEXT}),
    "lines": {"type": "array", "minItems": 1,
              "items": object_of(" ".join(_LINE_PROPERTIES), _LINE_PROPERTIES)},
    "total": _DECIMAL,
    "per_head": _DECIMAL,
    "left": _MAYBE_DECIMAL,
    "over_by": _MAYBE_DECIMAL,
    "boneless_oz": _NUMBER,
    "eating": {"type": "number", "minimum": 0, "maximum": 1},
    "feeds": object_of("light usual hungry", dict.fromkeys(("light", "usual", "hungry"), _COUNT)),
    "chance_enough": _CHANCE,
    "chance_each": {"type": "array",
                    "items": object_of("groups chance", {"groups": _TEXTS, "chance": _CHANCE})},
    "chance_everyone": _CHANCE,
    "loads": {"type": "array", "items": _LOAD},
    "binds": _TEXTS,
    "say": _TEXT,
    "gave_up": _TEXT,
    "differs": _CHANCE,
    "help": _TEXT,
    "collect_by": _MAYBE_TEXT,
}  # fmt: skip

_PLAN_PROPERTIES = {
    "schema": {"const": "collop.spread.plan/1"},
    "answer": {"enum": ["yes", "no"]},
    "currency": _TEXT,
    "heads": _COUNT,
    "need": object_of("meals planned_meals boneless_oz", dict.fromkeys(
        ("meals", "planned_meals", "boneless_oz"), _NUMBER)),
    "assumptions": _TEXTS,
    "spreads": {"type": "array",
                "items": object_of(" ".join(_SPREAD_PROPERTIES), _SPREAD_PROPERTIES)},
    "curve": {"type": "array",
              "items": object_of("total eating", {"total": _DECIMAL, "eating": _NUMBER})},
    "more_money": {"anyOf": [
        object_of("by total eating buys", {"by": _DECIMAL, "total": _DECIMAL, "eating": _NUMBER,
                                         "buys": _TEXT}), {"type": "null"}]},
    "blocked_by": _TEXTS,
    "why_no": _MAYBE_TEXT,
    "nearest_yes": {"anyOf": [{"type": "array", "items": object_of("change to why patch", {
        "change": {"enum": ["budget_total", "use_at", "style", "count", "rules", "fire"]},
        "to": {}, "why": _TEXT, "patch": {"type": "object"}})}, {"type": "null"}]},
    "unusable": {"type": "array", "items": object_of("id why", {"id": _TEXT, "why": _TEXT})},
}  # fmt: skip

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "spread": _PROBLEM,
    "spread.plan": {
        "$schema": SCHEMA_DRAFT,
        "title": "collop.spread.plan/1",
        **object_of(" ".join(_PLAN_PROPERTIES), _PLAN_PROPERTIES),
    },
}
