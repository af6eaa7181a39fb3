"""Seeded asks for the measurements: invented cuts, groups, prices."""

from __future__ import annotations

import random
from typing import Any

SPECIES = ("lamb", "beef", "pork", "chicken", "goat", "duck")
STYLES = ("plate", "shared", "hand", "wrap")


def _offer(rng: random.Random, index: int) -> dict[str, Any]:
    species = "none" if index % 15 == 14 else rng.choice(SPECIES)
    eating = round(rng.uniform(0.45, 0.97), 2)
    styles = ["plate", *rng.sample(STYLES[1:], rng.choice((0, 1, 1)))]
    offer: dict[str, Any] = {
        "id": f"X{index:03d}",
        "name": f"{species} cut {index}",
        "species": species,
        "contains": rng.choice(([], [], [], [], ["milk"], ["wheat"], ["soy", "sesame"])),
        "casing": rng.choice((None,) * 7 + ("hog", "sheep")) if species != "none" else None,
        "price_per_lb": f"{3 + 26 * eating**3 * rng.uniform(0.7, 1.5):.2f}",
        "free_lb": f"{rng.uniform(2, 30):.2f}",
        "pieces_lb": None,
        "frozen_lb": "0",
        "boneless_fraction": round(rng.uniform(0.5, 1.0), 2),
        "grill_sq_in_per_lb": rng.randint(24, 60),
        "minutes": sorted((rng.randint(8, 60), rng.randint(20, 90))),
        "method": rng.choice(("direct", "indirect", "covered grill or oven")),
        "styles": styles,
        "slots": ["meat-free"]
        if species == "none"
        else rng.sample(("centre", "goes-far", "in-the-hand"), rng.choice((1, 1, 2))),
        "eating": {style: round(min(0.98, eating + rng.uniform(-0.1, 0.1)), 2) for style in styles},
        "worth_per_lb": f"{rng.uniform(1, 20):.2f}" if rng.random() < 0.3 else "0",
    }
    if rng.random() < 0.2:
        sizes = [f"{rng.uniform(1, 5):.2f}" for _ in range(rng.choice((1, 2)))]
        offer["pieces_lb"] = [rng.choice(sizes) for _ in range(rng.randint(2, 12))]
        offer["free_lb"] = str(sum(float(p) for p in offer["pieces_lb"]).__round__(2))
    return offer


def ask(seed: int, offers: int = 150) -> dict[str, Any]:
    """Return an ask with six groups and exclusions."""
    rng = random.Random(seed)
    heads = rng.randint(25, 60)
    groups = [
        {"name": "all", "count": heads, "kind": "adult", "avoids": []},
        {"name": "no pork", "count": rng.randint(2, 8), "avoids": ["species:pork"]},
        {"name": "children", "count": rng.randint(2, 10), "kind": "child", "avoids": []},
        {"name": "crew", "count": rng.randint(2, 12), "kind": "crew", "avoids": ["allergen:milk"]},
        {"name": "no lamb or goat", "count": rng.randint(1, 5), "kind": "adult",
         "avoids": ["species:lamb", "species:goat"]},
        {"name": "meat-free", "count": rng.randint(1, 5), "kind": "meat-free", "avoids": []},
    ]  # fmt: skip
    people = sum(group["count"] for group in groups)
    return {
        "schema": "collop.spread/1",
        "groups": groups,
        "need_oz": {"plate": 7, "shared": 6, "hand": 6, "wrap": 5},
        "budget_total": f"{people * rng.uniform(5.5, 9):.2f}",
        "fire": {
            "zones": [
                {"name": "direct", "area_sq_in": 900},
                {"name": "indirect", "area_sq_in": 900},
            ],
            "minutes": 180,
            "oven": False,
        },
        "rules": {"min_items": 3, "max_items": 6, "max_share": 0.5, "slots": ["centre"]},
        "offers": [_offer(rng, index) for index in range(offers)],
    }
