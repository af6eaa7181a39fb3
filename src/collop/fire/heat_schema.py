"""JSON Schema of a heat problem and its plan (draft 2020-12), written out by hand."""

from __future__ import annotations

from typing import Any

from collop.fire.heat_reading import (
    FACE_KEYS,
    LIMITS,
    MOST_MINUTES,
    MOST_TIMES,
    MOST_TURNS,
    REST_KEYS,
    SAMPLES,
    SCHEMA_ID,
    SHAPES,
    SPREADS,
)
from collop.wire import SCHEMA_DRAFT, all_of, object_of

__all__ = ["SCHEMAS"]

_NUMBER = {"type": "number"}
_MAYBE_NUMBER = {"type": ["number", "null"]}
_MAYBE_TEXT = {"type": ["string", "null"]}


def _figure(key: str, *, maybe: bool = False) -> dict[str, Any]:
    low, high = LIMITS[key]
    return {"type": ["number", "null"] if maybe else "number", "minimum": low, "maximum": high}


def _maybe(schema: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [schema, {"type": "null"}]}


def _times(most: int) -> dict[str, Any]:
    minute = {"type": "number", "minimum": 0, "maximum": MOST_MINUTES}
    return {"type": ["array", "null"], "maxItems": most, "items": minute}


def _list(items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": items}


_FACE = object_of(
    "h_w_m2k gas_c",
    {key: _figure(key, maybe=key not in {"h_w_m2k", "gas_c"}) for key in FACE_KEYS},
)
_REST = object_of(
    "air_c minutes",
    {key: _figure(key, maybe=key not in {"air_c", "minutes"}) for key in REST_KEYS},
)
_SPREAD = object_of(
    "", {key: {"type": ["number", "null"], "minimum": 0, "maximum": most}
         for key, most in SPREADS.items()},
)  # fmt: skip
_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": SCHEMA_ID,
    **object_of(
        "schema half_thickness_m alpha_m2_s k_w_mk start_c",
        {
            "schema": {"const": SCHEMA_ID},
            "name": _MAYBE_TEXT,
            "shape": {"enum": [*SHAPES, None]},
            "shape_factor": _figure("shape_factor", maybe=True),
            "half_thickness_m": _figure("half_thickness_m"),
            "alpha_m2_s": _figure("alpha_m2_s"),
            "k_w_mk": _figure("k_w_mk"),
            "h_w_m2k": _figure("h_w_m2k", maybe=True),
            "start_c": _figure("start_c"),
            "medium_c": _figure("medium_c", maybe=True),
            "at_min": _times(MOST_TIMES),
            "until_core_c": _figure("until_core_c", maybe=True),
            "position": _figure("position", maybe=True),
            "faces": _maybe({"type": "array", "minItems": 1, "maxItems": 2, "items": _FACE}),
            "turns_min": _times(MOST_TURNS),
            "rest": _maybe(_REST),
            "spread": _maybe(_SPREAD),
            "samples": {
                "type": ["integer", "null"], "minimum": SAMPLES[0], "maximum": SAMPLES[1],
            },
            "seed": {"type": ["integer", "null"], "minimum": 0, "maximum": 2**32 - 1},
        },
    ),
}  # fmt: skip
_BAND = all_of({"p10": _MAYBE_NUMBER, "p50": _MAYBE_NUMBER, "p90": _MAYBE_NUMBER})
_PLAN = all_of(
    {
        "schema": {"const": "collop.heat.plan/1"},
        "name": _MAYBE_TEXT,
        "core_c": _list(_NUMBER),
        "surface_c": _list(_NUMBER),
        "upper_c": _maybe(_list(_NUMBER)),
        "theta": _list(_MAYBE_NUMBER),
        "minutes_to_core": _MAYBE_NUMBER,
        "rest": _maybe(
            all_of(dict.fromkeys(("pull_c", "peak_c", "rise_c", "peak_min", "core_end_c"), _NUMBER))
        ),
        "bands": _maybe(
            all_of(
                {
                    "samples": {"type": "integer"},
                    "reached": {"type": "number", "minimum": 0, "maximum": 1},
                    "minutes_to_core": _BAND,
                    "rise_c": _maybe(_BAND),
                }
            )
        ),
        "assumptions": _list({"type": "string"}),
    }
)

#: Schemas by name, as printed by ``collop schema``.
SCHEMAS: dict[str, dict[str, Any]] = {
    "heat": _PROBLEM,
    "heat.plan": {"$schema": SCHEMA_DRAFT, "title": "collop.heat.plan/1", **_PLAN},
}
