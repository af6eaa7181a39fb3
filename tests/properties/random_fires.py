"""Random asks in which the fire is the hard part: small grills, short coals, much that is slow."""

from __future__ import annotations

import random
from typing import Any

#: Invented cuts: name, species, minutes, method, area a pound, roles, boneless.
_CUTS = (
    ("Blade steaks", "beef", [10, 16], "direct grill", 40, [], 0.95),
    ("Rump", "beef", [12, 18], "direct grill", 34, ["centre"], 0.96),
    ("Thin skirt", "beef", [5, 8], "direct grill", 60, ["goes-far"], 1.0),
    ("Loin chops", "pork", [12, 18], "direct grill", 38, ["in-the-hand"], 0.8),
    ("Links", "pork", [22, 32], "indirect then direct", 44, ["in-the-hand"], 1.0),
    ("Shoulder", "lamb", [160, 230], "low oven, finish on grill", 28, ["centre"], 0.68),
    ("Leg", "lamb", [70, 100], "covered grill or oven", 26, ["centre"], 0.72),
    ("Whole", "chicken", [45, 75], "opened flat, covered grill", 34, ["bird"], 0.68),
    ("Thighs", "chicken", [14, 20], "direct grill", 44, ["bird"], 0.98),
    ("Diced", "goat", [12, 18], "skewers, direct grill", 50, ["goes-far"], 1.0),
    ("Shin", "beef", [180, 240], "braise", 0, ["goes-far"], 0.6),
    ("Cheese", "none", [5, 8], "direct grill, meat-free side", 60, ["meat-free"], 1.0),
)
_ZONES = (
    ["kettle"], ["kettle"], ["kettle"], ["direct", "indirect"], ["drum", "meat-free side"],
)  # fmt: skip


def _cut(rng: random.Random, number: int) -> dict[str, Any]:
    name, species, minutes, method, area, slots, boneless = _CUTS[number]
    cut = {
        "id": f"F{number:02}", "name": f"{species.capitalize()} {name.lower()}",
        "species": species, "minutes": minutes, "method": method, "grill_sq_in_per_lb": area,
        "slots": slots, "boneless_fraction": boneless, "free_lb": f"{rng.uniform(2, 9):.2f}",
        "price_per_lb": f"{rng.uniform(4, 22):.2f}", "styles": ["plate"],
        "eating": {"plate": rng.randint(40, 90) / 100},
    }  # fmt: skip
    if name == "Whole":
        cut["pieces_lb"] = [f"{rng.randint(3600, 4600) / 1000:.3f}"] * 3
        del cut["free_lb"]
    if name == "Links":
        cut["casing"] = "hog"
    return cut


def fiery_ask(seed: int) -> dict[str, Any]:
    """Return a random ask with a fire that is too small or too short for some of it."""
    rng = random.Random(f"fire {seed}")
    heads, green = rng.randint(3, 12), rng.choice((0, 0, 1, 2))
    names = rng.choice(_ZONES)
    numbers = sorted({*rng.sample(range(len(_CUTS) - 1), rng.randint(4, 8)), len(_CUTS) - 1})
    return {
        "schema": "collop.spread/1",
        "groups": [{"name": "all", "count": heads},
                   {"name": "green", "count": green, "kind": "meat-free"}],
        "need_oz": {"plate": 7},
        "offers": [_cut(rng, number) for number in numbers],
        "fire": {
            "zones": [{"name": name, "area_sq_in": rng.randint(8, 34) * heads} for name in names],
            "minutes": rng.choice((35, 60, 60, 90, 150)),
            "oven": rng.random() < 0.3,
            "pots": rng.choice((0, 0, 1)),
            "usable_fraction": 0.8,
        },
        "now": "2026-06-09T08:00",
        "use_at": "2026-06-09T19:00",
        "want": rng.choice((1, 2, 4)),
    }  # fmt: skip
