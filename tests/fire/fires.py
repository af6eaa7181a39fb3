"""Small fires for tests, written as the JSON of the contract."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

EXAMPLE = Path(__file__).parents[2] / "docs" / "examples" / "fire.json"


def example() -> dict[str, Any]:
    """Return the worked problem of the documents."""
    return json.loads(EXAMPLE.read_text("utf-8"))


def item(name: str, /, **more: Any) -> dict[str, Any]:
    """Return one item with the shop's own minutes."""
    return {
        "id": name, "name": name.title(), "species": "beef", "weight_lb": "2.00", "area_sq_in": 60,
        "cook_as": "whole", "method": "direct", "minutes": [10, 16], **more,
    }  # fmt: skip


def one_fire(*items: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Return a fire of one covered grill that gives both heats."""
    problem = {
        "schema": "collop.fire/1",
        "serve": [{"id": "main", "at": "2026-06-13T19:00"}],
        "fire": {
            "zones": [
                {"id": "grill", "heats": ["direct", "indirect"], "area_sq_in": 300, "minutes": 120}
            ]
        },
        "items": [copy.deepcopy(one) for one in items] or [item("steaks")],
    }
    return {**problem, **more}
