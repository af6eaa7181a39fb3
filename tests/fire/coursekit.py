"""Items for tests of courses."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from typing import Any

from collop.fire.problem import Body, FireItem, FireProblem, Serving

SAMPLES = 300


def problem(**more: Any) -> FireProblem:
    """Return a fire without items."""
    serving = Serving("main", datetime.fromisoformat("2026-06-13T19:00"), 0)
    return FireProblem("supper", (serving,), (), (), **more)


def piece(form: str, thickness_mm: float, method: str, /, **more: Any) -> FireItem:
    """Return an item with a body; keys of a body go to the body."""
    of_body = {"measured", "shape", "start_c", "fat_rich", "bone"}
    body = Body(form, thickness_mm, **{key: more.pop(key) for key in of_body & set(more)})
    usual = {"cook_as": "whole", "species": "beef", "id": f"{form} {thickness_mm:g}"}
    return item(method, **{**usual, **more, "body": body})


def item(method: str, /, **more: Any) -> FireItem:
    """Return an item by its shop minutes or whatever else is given."""
    usual = {
        "id": "C1", "species": "beef", "serving": "main", "weight_mlb": 3000,
        "area_sq_in": Fraction(60), "cook_as": "whole",
    }  # fmt: skip
    found = {**usual, **more}
    return FireItem(name=str(found["id"]), method=method, **found)


def flat_bird(**more: Any) -> FireItem:
    """Return a chicken opened flat, 44 mm deep at the breast."""
    usual = {"cook_as": "poultry", "species": "chicken", "id": "bird"}
    return piece("bird-flat", 44.0, "indirect", **{**usual, **more})
