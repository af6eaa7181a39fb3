"""Random asks of every kind, by seed; most tables can be fed, some cannot."""

from __future__ import annotations

import random
from typing import Any

SPECIES = ("beef", "lamb", "pork", "chicken", "duck", "none")
STYLES = ("plate", "shared", "hand", "wrap", "stew")
METHODS = ("", "direct grill", "covered grill or oven", "Braise", "pot roast", "oven",
           "indirect then direct", "low oven or smoke", "direct grill, meat-free side")  # fmt: skip
TABLES = (
    [],
    ["species:pork", "casing:hog"],
    ["allergen:sesame"],
    ["meat"],
    ["species:lamb"],
    ["allergen:milk", "species:pork"],
)


def _stock(rng: random.Random) -> dict[str, Any]:
    """Return free weight or pieces, a part of it frozen now and then."""
    stock: dict[str, Any] = {
        "free_lb": f"{rng.choice((0.5, 3, 10, 30)) * rng.uniform(0.5, 1.5):.2f}"
    }
    if rng.random() < 0.3:
        weights = [rng.randint(300, 7000)] * rng.randint(1, 6)
        if rng.random() < 0.5:
            weights = [rng.randint(300, 7000) for _ in weights]
        stock = {"pieces_lb": [f"{weight / 1000:.3f}" for weight in weights]}
        if rng.random() < 0.2:
            stock["frozen_lb"] = f"{sum(weights) / 1000:.3f}"
    elif rng.random() < 0.15:
        stock["frozen_lb"] = stock["free_lb"]
    return stock


def random_cut(rng: random.Random, number: int) -> dict[str, Any]:
    """Return a case line with any of the optional keys."""
    styles = rng.sample(STYLES, rng.choice((1, 1, 2, 3)))
    low = rng.randint(2, 100)
    cut: dict[str, Any] = {
        "id": f"O{number}",
        "name": f"Cut {number}",
        "species": rng.choice(SPECIES),
        "price_per_lb": f"{rng.uniform(3, 30):.2f}",
        "boneless_fraction": rng.choice((0.55, 0.68, 0.72, 0.9, 1.0, rng.randint(200, 999) / 1000)),
        "styles": styles,
        "eating": {style: rng.randint(0, 100) / 100 for style in styles},
        "grill_sq_in_per_lb": rng.choice((0, 24, 34, 44, 60, 90)),
        "minutes": rng.choice(([0, 0], [low, low + rng.randint(0, 100)])),
        "method": rng.choice(METHODS),
        "slots": rng.sample(("centre", "bird", "in-the-hand", "goes-far"), rng.randint(0, 2)),
        "contains": rng.choice(
            ([], [], [], ["milk"], ["soy", {"name": "x", "contains": ["sesame"]}])
        ),
        **_stock(rng),
    }
    if rng.random() < 0.5:
        cut |= {"days_left": rng.choice((0, 1, 3, 5, 60)), "cover_days": rng.randint(0, 20)}
    if rng.random() < 0.1:
        cut["casing"] = rng.choice(("hog", "sheep", "beef", "collagen", "plant"))
    if rng.random() < 0.1:
        cut["worth_per_lb"] = f"{rng.uniform(0, 10):.2f}"
    if rng.random() < 0.2:
        cut["neighbour"] = f"O{rng.randint(0, 6)}"
    return cut


def _groups(rng: random.Random, heads: int) -> list[dict[str, Any]]:
    groups, left = [], heads
    for number in range(rng.choice((1, 1, 2, 3))):
        count = rng.randint(0, left) if number else rng.randint(1, left)
        left -= count
        kind = rng.choice(("adult", "adult", "child", "crew"))
        avoids = rng.choice(TABLES) if number else rng.choice(([], [], ["species:lamb"]))
        groups.append({"name": f"g{number}", "count": count, "avoids": avoids, "kind": kind})
    return groups


def _rules(rng: random.Random) -> dict[str, Any]:
    chosen = {
        "min_items": rng.choice((1, 2, 3)),
        "max_items": rng.choice((3, 4, 5)),
        "max_share": rng.choice((0.34, 0.35, 0.5, 0.6)),
        "max_style_share": rng.choice((0.5, 0.6, 0.8)),
        "slots": [rng.choice(("centre", "bird", {"slot": "centre", "species": "beef"}))],
        "one_in": rng.choice((0, 4, 10)),
        "help_animal": False,
    }
    return {key: value for key, value in chosen.items() if rng.random() < 0.25}


def _money(rng: random.Random, heads: int) -> dict[str, Any]:
    each = rng.uniform(2, 14)
    draw = rng.random()
    if draw < 0.35:
        return {"budget_total": f"{heads * each:.2f}", "over_budget": rng.random() < 0.2}
    return {"budget_per_head": f"{each:.2f}"} if draw < 0.6 else {}


def _fire(rng: random.Random, heads: int) -> dict[str, Any]:
    names = rng.sample(("direct", "indirect", "covered", "meat-free side"), rng.randint(0, 3))
    zones = [{"name": name, "area_sq_in": rng.randint(0, 90 * heads)} for name in names]
    return {
        "zones": zones,
        "minutes": rng.choice((30, 60, 180, 400)),
        "oven": rng.random() < 0.5,
        "pots": rng.choice((0, 1, 2)),
        "usable_fraction": rng.choice((1, 0.8)),
    }


def random_ask(seed: int) -> dict[str, Any]:
    """Return a random ask; the same seed gives the same."""
    rng = random.Random(seed)
    heads = rng.choice((1, 2, 4, 9, 10, 14, 30))
    ask: dict[str, Any] = {
        "schema": "collop.spread/1",
        "groups": _groups(rng, heads),
        "appetite_cv": rng.choice((0, 0.25, 0.25, 0.5)),
        "enough_chance": rng.choice((0.5, 0.9, 0.95, 0.99)),
        "offers": [random_cut(rng, number) for number in range(rng.randint(4, 14))],
        "need_oz": {s: rng.randint(20, 80) / 10 for s in rng.sample(STYLES, rng.randint(2, 5))},
        "now": "2026-06-09T08:00",
        **_money(rng, heads),
    }
    if rng.random() < 0.5:
        ask["fire"] = _fire(rng, heads)
    if rng.random() < 0.6:
        ask["rules"] = _rules(rng)
    if rng.random() < 0.7:
        ask["use_at"] = rng.choice(("2026-06-13T18:00", "2026-06-10T13:00", "2026-06-09T10:00"))
    if rng.random() < 0.2:
        ask["pinned"] = [rng.choice(ask["offers"])["id"]]
    if rng.random() < 0.3:
        ask["want"] = rng.randint(1, 5)
    return ask
