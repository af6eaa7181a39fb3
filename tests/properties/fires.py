"""A spread as a fire, written from the ask and the plan alone, without the spread kernel.

Only what the plan says is used: the weights of its lines, and over which heat each one lies.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

STEW_MIN = 120
BIRDS = {"chicken", "duck", "goose", "turkey"}
FINISH = (6, 12)


def _zones(fire: dict[str, Any]) -> list[dict[str, Any]]:
    usable = Fraction(str(fire.get("usable_fraction", 1)))
    zones = [
        {
            "id": zone["name"],
            "name": zone["name"],
            "heats": ["direct", "indirect"],
            "area_sq_in": float(Fraction(str(zone["area_sq_in"])) * usable),
            "meat_free": "meat-free" in zone["name"],
            "minutes": fire["minutes"],
        }
        for zone in fire["zones"]
    ]
    if fire.get("oven"):
        zones.append({"id": "the oven", "name": "Oven", "heats": ["oven"], "area_sq_in": None})
    if fire.get("pots"):
        zones.append({"id": "pots", "name": "Pots", "heats": ["pot"], "area_sq_in": None})
    return zones


def _method(ask: dict[str, Any], line: dict[str, Any], loads: list[dict[str, Any]]) -> str:
    heats = [load["heat"] for load in sorted(loads, key=lambda one: one["at_min"])]
    first = [load["heat"] for load in loads if load["wave"] == 1]
    cut = next(one for one in ask["offers"] if one["id"] == line["id"])
    words = cut["method"].lower()
    potted = line["style"] == "stew" or "brais" in words or "pot" in words
    if not heats:
        return "pot" if potted and ask["fire"].get("pots") else "oven"
    if "finish" in words and ask["fire"].get("oven"):
        return "oven then direct"
    return "indirect then direct" if len(set(first)) == 2 else heats[0]


def _cook_as(cut: dict[str, Any]) -> str:
    made_of = {cut["species"]}
    if cut["species"] == "none" and not cut.get("casing"):
        return "none"
    if made_of & BIRDS:
        return "poultry"
    return "ground" if cut.get("casing") else cut.get("cook_as") or "whole"


def _item(ask: dict[str, Any], spread: dict[str, Any], line: dict[str, Any]) -> dict[str, Any]:
    cut = next(one for one in ask["offers"] if one["id"] == line["id"])
    method = _method(ask, line, [one for one in spread["loads"] if one["id"] == line["id"]])
    low, high = (max(1, number) for number in cut["minutes"])
    if line["style"] == "stew":
        low, high = max(low, STEW_MIN), max(high, STEW_MIN)
    pounds = Fraction(line["weight_lb"])
    on_fire = method not in {"oven", "pot"}
    item = {
        "id": cut["id"],
        "name": cut["name"],
        "species": None if cut["species"] == "none" else cut["species"],
        "serve": "meal",
        "weight_lb": line["weight_lb"],
        "area_sq_in": float(pounds * cut["grill_sq_in_per_lb"]) if on_fire else 0,
        "cook_as": _cook_as(cut),
        "method": method,
    }
    if line["pieces"]:
        item |= {"pieces": len(line["pieces"]), "piece_lb": max(line["pieces"], key=Fraction)}
    if " then " in method:
        first, last = method.split(" then ")
        end = [max(1, min(most, one // 2)) for most, one in zip(FINISH, (low, high), strict=True)]
        slow = [max(1, low - end[0]), max(1, high - end[1])]
        return item | {"stages": [{"heat": first, "minutes": sorted(slow)},
                                  {"heat": last, "minutes": end}]}  # fmt: skip
    return item | {"minutes": [low, high]}


def fire_problem(ask: dict[str, Any], spread: dict[str, Any]) -> dict[str, Any]:
    """Return the ``collop.fire/1`` problem of one spread of a plan, for an ask with a fire."""
    return {
        "schema": "collop.fire/1",
        "name": spread["aim"],
        "serve": [{"id": "meal", "at": ask.get("use_at") or "2026-06-13T18:00"}],
        "fire": {"zones": _zones(ask["fire"])},
        # by id, as equally good schedules differ by the order the food is told in
        "items": sorted(
            (_item(ask, spread, line) for line in spread["lines"]), key=lambda item: item["id"]
        ),
    }
