"""JSON Schema of a fire and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.fire.problem import FORMS, HEATS, METHODS
from collop.fire.reading import MOST_SERVINGS, MOST_ZONES
from collop.fire.reading_items import (
    COOK_AS,
    LONGEST_HOLD,
    LONGEST_REST,
    MOST_ITEMS,
    ROLES,
    TREATMENTS,
)
from collop.fire.reading_texts import MOST_ALLERGENS
from collop.wire import SCHEMA_DRAFT, all_of, object_of

__all__ = ["SCHEMAS"]

_TEXT = {"type": "string"}
_MAYBE_TEXT = {"type": ["string", "null"]}
_NUMBER = {"type": "number"}
_MAYBE_NUMBER = {"type": ["number", "null"]}
_WHOLE = {"type": "integer"}
_MAYBE_WHOLE = {"type": ["integer", "null"]}
_FLAG = {"type": "boolean"}
_POUNDS = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_MAYBE_POUNDS = {"anyOf": [_POUNDS, {"type": "null"}]}
_TIME = {"type": "string", "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}"}
_MAYBE_TIME = {"anyOf": [_TIME, {"type": "null"}]}
_PAIR = {"type": "array", "items": _WHOLE, "minItems": 2, "maxItems": 2}


def _list(items: dict[str, Any], **more: int) -> dict[str, Any]:
    return {"type": "array", "items": items, **more}


_ZONE = object_of(
    "id heats",
    {
        "id": _TEXT,
        "name": _MAYBE_TEXT,
        "heats": _list({"enum": list(HEATS)}, minItems=1),
        "area_sq_in": _MAYBE_NUMBER,
        "meat_free": _FLAG,
        "minutes": _MAYBE_WHOLE,
    },
)
_BODY = object_of(
    "form thickness_mm",
    {
        "form": {"enum": list(FORMS)},
        "thickness_mm": _NUMBER,
        "measured": _FLAG,
        "shape": _MAYBE_NUMBER,
        "start_c": _MAYBE_NUMBER,
        "fat_rich": _FLAG,
        "bone": _FLAG,
    },
)
_ITEM = object_of(
    "id name weight_lb area_sq_in cook_as method",
    {
        "id": _TEXT,
        "name": _TEXT,
        "species": _MAYBE_TEXT,
        "serve": _TEXT,
        "weight_lb": _POUNDS,
        "pieces": _MAYBE_WHOLE,
        "piece_lb": _MAYBE_POUNDS,
        "area_sq_in": _NUMBER,
        "cook_as": {"enum": list(COOK_AS)},
        "treatment": {"enum": list(TREATMENTS)},
        "method": {"enum": list(METHODS)},
        "minutes": {"anyOf": [_PAIR, {"type": "null"}]},
        "stages": {
            "anyOf": [
                _list(all_of({"heat": {"enum": list(HEATS)}, "minutes": _PAIR}), minItems=1),
                {"type": "null"},
            ]
        },
        "body": {"anyOf": [_BODY, {"type": "null"}]},
        "done_f": _MAYBE_NUMBER,
        "done_c": _MAYBE_NUMBER,
        "rest_min": _MAYBE_WHOLE | {"minimum": 0, "maximum": LONGEST_REST},
        "hold_min": _MAYBE_WHOLE | {"minimum": 0, "maximum": LONGEST_HOLD},
        "role": {"enum": list(ROLES)},
        "frozen": _FLAG,
        "carve": _MAYBE_TEXT,
        "allergens": _list(_TEXT, maxItems=MOST_ALLERGENS),
    },
)
_DONT_EAT = {"what": _TEXT, "count": _MAYBE_WHOLE, "plate": _TEXT}
_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": "collop.fire/1",
    **object_of(
        "schema serve fire items",
        {
            "schema": {"const": "collop.fire/1"},
            "name": _MAYBE_TEXT,
            "now": _MAYBE_TIME,
            "heads": _MAYBE_WHOLE,
            "serve": _list(all_of({"id": _TEXT, "at": _TIME}), minItems=1, maxItems=MOST_SERVINGS),
            "fire": object_of(
                "zones",
                {
                    "zones": _list(_ZONE, minItems=1, maxItems=MOST_ZONES),
                    "hands": _MAYBE_WHOLE,
                    "covered": _FLAG,
                    "air_f": _MAYBE_WHOLE,
                },
            ),
            "ride_min": _MAYBE_WHOLE,
            "chance": _MAYBE_NUMBER,
            "unit": {"enum": ["F", "C", None]},
            "weight_unit": {"enum": ["lb", "kg", None]},
            "waves": _FLAG,
            "items": _list(_ITEM, minItems=1, maxItems=MOST_ITEMS),
            "dont_eats": _list(object_of("what", _DONT_EAT), maxItems=20),
        },
    ),
}
_STAGE = all_of(
    {
        "heat": {"enum": list(HEATS)},
        "zone": _TEXT,
        "zone_name": _TEXT,
        "start": _TIME,
        "end": _TIME,
        "start_min": _WHOLE,
        "end_min": _WHOLE,
        "turns": _list(_TIME),
    }
)
_LOAD = all_of(
    {
        "wave": _WHOLE,
        "waves": _WHOLE,
        "weight_lb": _POUNDS,
        "area_sq_in": _NUMBER,
        "own_tray": _FLAG,
        "stages": _list(_STAGE, minItems=1),
        "early": _TIME,
        "late": _TIME,
        "off": _TIME,
        "ready": _TIME,
        "eat": _TIME,
        "start_min": _WHOLE,
        "off_min": _WHOLE,
        "ready_min": _WHOLE,
        "eat_min": _WHOLE,
        "wait_min": _WHOLE,
        "waits": _TEXT,
    }
)
_MINIMUM = all_of(
    {
        "core_f": _WHOLE,
        "core_c": _WHOLE,
        "rest_min": _WHOLE,
        "rule": _TEXT,
        "source": _TEXT,
        "text": _TEXT,
    }
)
_PLAN_ITEM = all_of(
    {
        "id": _TEXT,
        "name": _TEXT,
        "species": _MAYBE_TEXT,
        "serve": _TEXT,
        "weight_lb": _POUNDS,
        "role": {"enum": list(ROLES)},
        "cook_as": {"enum": list(COOK_AS)},
        "treatment": {"enum": list(TREATMENTS)},
        "made": _TEXT,
        "method": {"enum": list(METHODS)},
        "meat_free": _FLAG,
        "allergens": _list(_TEXT),
        "minimum": {"anyOf": [_MINIMUM, {"type": "null"}]},
        "pull_f": _MAYBE_WHOLE,
        "pull_c": _MAYBE_WHOLE,
        "target_f": _MAYBE_WHOLE,
        "target_c": _MAYBE_WHOLE,
        "due_f": _MAYBE_WHOLE,
        "due_c": _MAYBE_WHOLE,
        "minutes": all_of(
            {
                "p10": _WHOLE,
                "p50": _WHOLE,
                "p90": _WHOLE,
                "planned": _MAYBE_WHOLE,
                "source": {"enum": ["model", "shop"]},
            }
        ),
        "cooked": {
            "anyOf": [
                all_of(
                    {
                        "weight_lb": _POUNDS,
                        "loss_pct": _WHOLE,
                        "rows": _WHOLE,
                        "source": _TEXT,
                        "notes": _list(_TEXT),
                    }
                ),
                {"type": "null"},
            ]
        },
        "rest_min": _WHOLE,
        "rise_f": {"anyOf": [_list(_WHOLE, minItems=3, maxItems=3), {"type": "null"}]},
        "rise_c": {"anyOf": [_list(_WHOLE, minItems=3, maxItems=3), {"type": "null"}]},
        "log_reduction": _MAYBE_NUMBER,
        "loads": _list(_LOAD),
        "steps": _list(_TEXT),
        "say": _TEXT,
        "carve": _TEXT,
        "cautions": _list(_TEXT),
        "notes": _list(_TEXT),
    }
)
_SPAN = all_of(
    {
        "start": _TIME,
        "end": _TIME,
        "start_min": _WHOLE,
        "end_min": _WHOLE,
        "area_sq_in": _NUMBER,
        "items": _list(_TEXT),
    }
)
_PLAN = {
    "$schema": SCHEMA_DRAFT,
    "title": "collop.fire.plan/1",
    **all_of(
        {
            "schema": {"const": "collop.fire.plan/1"},
            "name": _TEXT,
            "unit": {"enum": ["F", "C"]},
            "weight_unit": {"enum": ["lb", "kg"]},
            "heads": _MAYBE_WHOLE,
            "answer": {"enum": ["yes", "rounds", "no"]},
            "proof": all_of({"status": {"enum": ["optimal", "gap"]}, "gap_min": _WHOLE}),
            "chance": _NUMBER,
            "quantile": _MAYBE_NUMBER,
            "serve": _list(all_of({"id": _TEXT, "at": _TIME, "ready_chance": _MAYBE_NUMBER})),
            "dont_eats": _list(all_of(_DONT_EAT)),
            "items": _list(_PLAN_ITEM),
            "coals": _list(
                all_of({"zone": _TEXT, "name": _TEXT, "light": _TIME, "ready": _TIME, "out": _TIME})
            ),
            "load": _list(
                all_of(
                    {
                        "zone": _TEXT,
                        "name": _TEXT,
                        "of_sq_in": _MAYBE_NUMBER,
                        "spans": _list(_SPAN),
                    }
                )
            ),
            "steps": _list(
                all_of(
                    {
                        "at": _TIME,
                        "at_min": _WHOLE,
                        "what": _TEXT,
                        "item": _MAYBE_TEXT,
                        "zone": _MAYBE_TEXT,
                        "tool": {"enum": ["raw", "cooked", "meat-free", "none"]},
                    }
                )
            ),
            "before": _list(
                all_of(
                    {
                        "at": _MAYBE_TIME,
                        "item": _MAYBE_TEXT,
                        "kind": {"enum": ["ride", "thaw", "salt", "fridge", "light"]},
                        "what": _TEXT,
                    }
                )
            ),
            "after": _list(all_of({"what": _TEXT})),
            "cautions": _list(_TEXT),
            "assumptions": _list(all_of({"what": _TEXT, "ask": _TEXT})),
            "why_no": _list(all_of({"limit": _TEXT, "item": _MAYBE_TEXT, "say": _TEXT})),
            "nearest_yes": _list(all_of({"change": _TEXT, "to": {}, "say": _TEXT})),
        }
    ),
}
SCHEMAS: dict[str, dict[str, Any]] = {"fire": _PROBLEM, "fire.plan": _PLAN}
