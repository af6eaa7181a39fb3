"""JSON Schemas of the carcass problems and plans (draft 2020-12)."""

from __future__ import annotations

from typing import Any

from collop.carcass.shares import PartKind
from collop.carcass.species import SPECIES
from collop.carcass.standing import Standing
from collop.carcass.taking_home import CUTTINGS, STAGES

__all__ = ["SCHEMAS"]

_Schema = dict[str, Any]
_TEXT: _Schema = {"type": "string"}
_NUMBER: _Schema = {"type": "number"}
_DECIMAL: _Schema = {"type": "string", "pattern": r"^-?\d+(\.\d+)?$"}
_STANDING: _Schema = {"enum": [standing.value for standing in Standing]}
_BASIS: _Schema = {"standing": _STANDING, "source": _TEXT}


def _or_null(schema: _Schema) -> _Schema:
    return {"anyOf": [schema, {"type": "null"}]}


def _list(items: _Schema) -> _Schema:
    return {"type": "array", "items": items}


def _object(properties: _Schema, optional: tuple[str, ...] = ()) -> _Schema:
    return {
        "type": "object",
        "properties": properties,
        "required": [key for key in properties if key not in optional],
        "additionalProperties": False,
    }


def _named(name: str, properties: _Schema, optional: tuple[str, ...] = ()) -> _Schema:
    found = _object({"schema": {"const": f"collop.{name}/1"}, **properties}, optional)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}


_STYLES = _named(
    "styles",
    {
        "species": _TEXT,
        "piece": _TEXT,
        "weight_lb": _DECIMAL,
        "choices": _or_null({"type": "object", "additionalProperties": _TEXT}),
    },
    ("species", "choices"),
)
_LARGE_CUT = _object({
    "name": _TEXT,
    "weight_lb": _DECIMAL,
    "style": _TEXT,
    "minutes": _or_null(_NUMBER),
    "styles": _list(_TEXT),
})  # fmt: skip
_OUTPUT = _object({
    "part": _TEXT,
    "kind": {"enum": [kind.value for kind in PartKind]},
    "place": {"enum": ["case", "trim", "fat", "bone", "drip"]},
    "weight_lb": _DECIMAL,
    "share_pct": _NUMBER,
    "large_cut": _TEXT,
    "style": _TEXT,
    "cut_id": _or_null(_TEXT),
    **_BASIS,
})  # fmt: skip
_STYLES_PLAN = _named(
    "styles.plan",
    {
        "piece": _TEXT,
        "weight_lb": _DECIMAL,
        "large_cuts": _list(_LARGE_CUT),
        "outputs": _list(_OUTPUT),
        "sum_lb": {"type": "object", "additionalProperties": _DECIMAL},
        "gap_lb": _DECIMAL,
    },
)
_YIELD_GRADE = _named(
    "yieldgrade",
    {
        "adjusted_fat_in": _DECIMAL,
        "kph_pct": _DECIMAL,
        "ribeye_sq_in": _DECIMAL,
        "hot_carcass_lb": _DECIMAL,
    },
)
_GRADE = _object({
    "value": _NUMBER,
    "grade": {"type": "integer", "minimum": 1, "maximum": 5},
    "steps": _list(_object({"what": _TEXT, "amount": _NUMBER})),
    "retail_pct": {"type": "array", "items": _or_null(_NUMBER), "minItems": 2, "maxItems": 2},
    "retail_source": _TEXT,
    **_BASIS,
})  # fmt: skip
_YIELD_GRADE_PLAN = _named(
    "yieldgrade.plan",
    {"equation": _GRADE, "short": _or_null(_GRADE), "short_refused": _or_null(_TEXT)},
)
_SHARES = ("dressing_pct", "chill_loss_pct", "hang_loss_pct", "take_home_pct")
_TAKE_HOME = _named(
    "takehome",
    {
        "species": _TEXT,
        "animal": _TEXT,
        "stage": {"enum": list(STAGES)},
        "weight_lb": _DECIMAL,
        "live_shrink_pct": _DECIMAL,
        **{key: _or_null(_DECIMAL) for key in _SHARES},
        "days_hung": {"type": "integer", "minimum": 0, "maximum": 120},
        "cutting": {"enum": list(CUTTINGS)},
        "take_home_of": {"enum": ["hot", "hung"]},
    },
    ("animal", "stage", "live_shrink_pct", *_SHARES, "days_hung", "cutting", "take_home_of"),
)
_STEP = _object({
    "name": _TEXT,
    "low_lb": _DECIMAL,
    "high_lb": _DECIMAL,
    "rule": _TEXT,
    **_BASIS,
})  # fmt: skip
_TAKE_HOME_PLAN = _named(
    "takehome.plan", {"species": {"enum": list(SPECIES)}, "steps": _list(_STEP)}
)
#: Schema of each problem and plan by its name.
SCHEMAS: dict[str, _Schema] = {
    "styles": _STYLES,
    "styles.plan": _STYLES_PLAN,
    "yieldgrade": _YIELD_GRADE,
    "yieldgrade.plan": _YIELD_GRADE_PLAN,
    "takehome": _TAKE_HOME,
    "takehome.plan": _TAKE_HOME_PLAN,
}
