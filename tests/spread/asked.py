"""Short ways to write an ask as JSON in these tests."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from collop.spread import answer, read_problem

NOW, SATURDAY = "2026-06-09T08:00", "2026-06-13T18:00"


def offer(offer_id: str, price: str = "10.00", **more: Any) -> dict[str, Any]:
    """Return a case line of beef, sold by weight, ten pounds free, for the plate."""
    made: dict[str, Any] = {
        "id": offer_id,
        "name": f"Cut {offer_id}",
        "species": "beef",
        "price_per_lb": price,
        "free_lb": "10.00",
        "boneless_fraction": 1.0,
        "styles": ["plate"],
        "eating": {"plate": 0.5},
    }
    return made | more


def group(count: int, *avoids: str, **more: Any) -> dict[str, Any]:
    """Return eaters named after what they avoid."""
    made = {"name": " ".join(avoids) or "all", "count": count, "avoids": list(avoids)}
    return made | more


def rules(**more: Any) -> dict[str, Any]:
    """Return rules that ask for nothing but enough food."""
    free = {"min_items": 1, "max_items": 20, "max_share": 1.0, "one_in": 0, "help_animal": False}
    return free | more


def ask(*offers: dict[str, Any], heads: int = 4, **more: Any) -> dict[str, Any]:
    """Return an ask for usual adults with exact appetites, fire and hour not known."""
    made: dict[str, Any] = {
        "schema": "collop.spread/1",
        "groups": [group(heads)],
        "appetite_cv": 0.0,
        "rules": rules(),
        "offers": list(offers),
    }
    return deepcopy(made | more)


def full_case() -> list[dict[str, Any]]:
    """Return a case with one of everything the kernel treats apart."""
    return [
        offer("leg", "11.20", species="lamb", boneless_fraction=0.72, slots=["centre"],
              styles=["plate", "shared"], eating={"plate": 0.7, "shared": 0.75},
              grill_sq_in_per_lb=26, minutes=[60, 90], method="covered grill or oven",
              days_left=4, cover_days=6.0),
        offer("links", "9.10", contains=["mustard"], casing="hog", cook_as="ground",
              styles=["hand", "plate"], eating={"plate": 0.6, "hand": 0.66},
              grill_sq_in_per_lb=44, minutes=[18, 25], method="indirect then direct"),
        offer("bird", "5.30", species="chicken", pieces_lb=["4.10", "4.10", "3.95"],
              free_lb="12.15", boneless_fraction=0.68, slots=["bird"], cook_as="poultry",
              grill_sq_in_per_lb=34, minutes=[45, 75], method="opened flat, covered grill"),
        offer("duck", "7.10", species="duck", pieces_lb=["5.20"], free_lb="5.20",
              frozen_lb="5.20", boneless_fraction=0.55, grill_sq_in_per_lb=30,
              minutes=[90, 130], method="covered grill or oven", days_left=75),
        offer("shin", "6.60", boneless_fraction=0.6, styles=["stew"], eating={"stew": 0.75},
              minutes=[180, 210], method="braise", neighbour="leg"),
        offer("soy", "8.10", species="chicken", styles=["wrap"], eating={"wrap": 0.76},
              contains=[{"name": "marinade", "contains": ["soy", {"name": "sesame"}]}],
              grill_sq_in_per_lb=44, minutes=[12, 18], method="direct grill"),
        offer("cheese", "13.00", species="none", contains=["milk"], pieces_lb=["0.5"] * 4,
              free_lb="2.00", cook_as="none", slots=["meat-free"], grill_sq_in_per_lb=60,
              minutes=[5, 8], method="direct grill, meat-free side"),
    ]  # fmt: skip


def full_ask(**more: Any) -> dict[str, Any]:
    """Return an ask that fills every key of the contract, and has an answer."""
    made: dict[str, Any] = {
        "schema": "collop.spread/1",
        "currency": "USD",
        "rounding": "half-up",
        "groups": [
            {"name": "all", "count": 8, "kind": "adult", "appetite": 1.0, "avoids": []},
            {
                "name": "no pork",
                "count": 3,
                "kind": "crew",
                "avoids": ["species:pork", "casing:hog"],
            },
            {"name": "young", "count": 2, "kind": "child", "avoids": ["allergen:sesame"]},
            {"name": "green", "count": 1, "kind": "meat-free", "avoids": []},
        ],
        "need_oz": {"plate": 7.0, "hand": 6.0, "wrap": 5.0, "stew": 4.0},
        "portion_oz": {"wrap": 2.5},
        "enough_chance": 0.95,
        "appetite_cv": 0.25,
        "budget_total": "220.00",
        "over_budget": False,
        "fire": {
            "zones": [
                {"name": "direct", "area_sq_in": 400},
                {"name": "covered", "area_sq_in": 500},
            ],
            "minutes": 180,
            "oven": True,
            "pots": 1,
            "usable_fraction": 0.8,
        },
        "rules": {
            "min_items": 3,
            "max_items": 5,
            "max_share": 0.6,
            "max_style_share": 0.9,
            "slots": ["bird", {"slot": "centre", "species": "lamb"}],
            "only": [],
            "one_in": 10,
            "help_animal": True,
        },
        "use_at": SATURDAY,
        "now": NOW,
        "offers": full_case(),
        "pinned": ["leg"],
        "want": 3,
        "weights": {"eating": 1.0, "money": 1.0, "animal": 1.0, "leftover": 1.0},
    }
    return deepcopy(made | more)


def plan(problem: dict[str, Any]) -> dict[str, Any]:
    """Return the kernel's answer."""
    return answer(problem)


def first(problem: dict[str, Any]) -> dict[str, Any]:
    """Return the first spread of an ask that must have one."""
    found = answer(problem)
    assert found["answer"] == "yes", found
    return found["spreads"][0]


def read(problem: dict[str, Any]) -> Any:
    """Return the ask as the kernel reads it."""
    return read_problem(problem)


def line_of(spread: dict[str, Any], offer_id: str) -> dict[str, Any]:
    """Return the line of one cut."""
    return next(line for line in spread["lines"] if line["id"] == offer_id)
