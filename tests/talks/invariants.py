"""Rules that every answer of the counter must satisfy, recomputed from ask and plan alone.

Nothing here uses the kernel: offers and plan are read as JSON, in exact decimals.
"""

from __future__ import annotations

import itertools
from datetime import datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

CENT = Decimal("0.01")
CASING_OF = {"hog": "pork", "sheep": "lamb", "beef": "beef"}
SAFE_F = {"whole": 145, "ground": 160, "poultry": 165}


def made_of(offer):
    """Return all tags of an offer; no batch in the demo shop is nested."""
    tags = {f"allergen:{word}" for word in offer["contains"]}
    if offer["species"] not in {None, "none"}:
        tags |= {f"species:{offer['species']}", "meat"}
    if offer["casing"]:
        tags |= {f"casing:{offer['casing']}", f"species:{CASING_OF[offer['casing']]}", "meat"}
    return tags


def eats(group, offer):
    """Tell whether a group may eat an offer and is fed by it."""
    avoids = set(group.get("avoids", []))
    if group.get("kind") == "meat-free":
        avoids.add("meat")
    tags = made_of(offer)
    return ("meat" in avoids) == ("meat" not in tags) and not avoids & tags


def appetite(group):
    """Return the appetite of one eater."""
    default = {"child": "0.5", "crew": "1.3"}.get(group.get("kind", "adult"), "1")
    return Fraction(str(group.get("appetite", default)))


def need(groups):
    """Return the mean need in meals."""
    return sum((g["count"] * appetite(g) for g in groups), Fraction(0))


def meals(ask, offer, line):
    """Return the meals of a line."""
    oz = Fraction(line["weight_lb"]) * 16 * Fraction(str(offer["boneless_fraction"]))
    return oz / Fraction(str(ask["need_oz"][line["style"]]))


def check_answer(ask, plan):
    """Assert G1 to G20 as far as they concern a spread; a fire plan and tickets come elsewhere."""
    offers = {offer["id"]: offer for offer in ask["offers"]}
    if plan["answer"] == "no":
        # G15: the nearest yes, and what it takes
        assert plan["nearest_yes"]
        assert plan["why_no"]
        assert all(yes["why"].endswith(".") for yes in plan["nearest_yes"])
        return
    assert plan["spreads"][0]["aim"] == "best-value"
    for spread in plan["spreads"]:
        lines = [(line, offers[line["id"]]) for line in spread["lines"]]
        for line, offer in lines:
            _one_line(ask, line, offer)
        _money(ask, spread, lines)
        _food(ask, plan, spread, lines)
        _mixture(ask, spread, lines)
        _grill(ask, spread, lines)
        # G8: never one bare number of servings
        assert spread["feeds"]["light"] >= spread["feeds"]["usual"] >= spread["feeds"]["hungry"]
        # G20: at most 25 words, with the money a head
        assert len(spread["say"].split()) <= 25
        assert f"{spread['per_head']} a head" in spread["say"]


def _one_line(ask, line, offer):
    weight = Decimal(line["weight_lb"])
    # G1: within free weight
    assert 0 < weight <= Decimal(offer["free_lb"])
    # G2: nothing frozen unless the thaw fits (24 h for each 5 lb at the very least)
    if Decimal(offer["frozen_lb"]):
        biggest = max(Decimal(piece) for piece in offer["pieces_lb"])
        hours = float(biggest) / 5 * 24
        time = datetime.fromisoformat(ask["use_at"]) - datetime.fromisoformat(ask["now"])
        assert time >= timedelta(hours=hours, minutes=offer["minutes"][1])
    # used by its last day, and cooked in time
    if ask.get("use_at"):
        use_at, now = (datetime.fromisoformat(ask[key]) for key in ("use_at", "now"))
        assert (use_at.date() - now.date()).days <= offer["days_left"]
        assert use_at - now >= timedelta(minutes=offer["minutes"][1])
    # G3: whoever may not have it is named beside it; somebody may
    barred = {g["name"] for g in ask["groups"] if g["count"] and not eats(g, offer)}
    assert set(line["not_for"]) == barred
    assert any(eats(g, offer) for g in ask["groups"] if g["count"])
    # G9: the published minimum stands beside each thing that is meat, none lower
    if "meat" in made_of(offer):
        assert line["cook_to"]["f"] >= SAFE_F[offer["cook_as"]]
        assert line["cook_to"]["c"] * 9 / 5 + 32 >= SAFE_F[offer["cook_as"]]
    else:
        assert line["cook_to"] is None
    # G13: one sentence with a figure
    assert line["reason"].endswith(".")
    assert any(sign.isdigit() for sign in line["reason"])
    # whole pieces of real weights
    if offer["pieces_lb"] is not None:
        left = [Decimal(piece) for piece in offer["pieces_lb"]]
        for piece in line["pieces"]:
            left.remove(Decimal(piece))
        assert sum(Decimal(piece) for piece in line["pieces"]) == weight


def _money(ask, spread, lines):
    total = Decimal(0)
    for line, offer in lines:
        # G6: net weight x price, rounded once
        exact = Decimal(line["weight_lb"]) * Decimal(offer["price_per_lb"])
        assert Decimal(line["line_total"]) == exact.quantize(CENT, ROUND_HALF_UP)
        total += Decimal(line["line_total"])
    # G7: the sum of the lines is the total
    assert Decimal(spread["total"]) == total
    heads = sum(g["count"] for g in ask["groups"])
    assert Decimal(spread["per_head"]) == (total / heads).quantize(CENT, ROUND_HALF_UP)
    # G5: within the budget, or says by how much it is over
    if ask.get("budget_total"):
        over = total - Decimal(ask["budget_total"])
        assert over <= 0 or (ask.get("over_budget") and Decimal(spread["over_by"]) == over)


def _food(ask, plan, spread, lines):
    groups = [g for g in ask["groups"] if g["count"]]
    # nested needs: every union of groups is fed by what it may eat
    for size in range(1, len(groups) + 1):
        for some in itertools.combinations(groups, size):
            supply = sum(
                (meals(ask, o, line) for line, o in lines if any(eats(g, o) for g in some)),
                Fraction(0),
            )
            assert supply >= need(some) * Fraction(9, 10)
            if ask.get("appetite_cv") == 0:
                assert supply >= need(some)
    # G4: not over a quarter more than the need, or the reason in words
    supply = sum((meals(ask, o, line) for line, o in lines), Fraction(0))
    words = " ".join(plan["assumptions"])
    assert supply <= need(groups) * Fraction(5, 4) or "quarter" in words or "even out" in words
    assert spread["chance_enough"] >= ask.get("enough_chance", 0.95) or ask["appetite_cv"] == 0


def _mixture(ask, spread, lines):
    heads = sum(g["count"] for g in ask["groups"])
    if heads >= 10 and not ask.get("rules", {}).get("only"):
        # G12: three to five items, none over half of the food
        assert 3 <= len(lines) <= 5
        ounces = [Fraction(line["weight_lb"]) * Fraction(str(o["boneless_fraction"]))
                  for line, o in lines]  # fmt: skip
        assert max(ounces) * 2 <= sum(ounces)

    # G14: a cut with more days of cover than it keeps, if the table can have one
    def is_slow(offer):
        return offer["cover_days"] > max(offer["days_left"], 1)

    if any(line["slow"] for line, _ in lines):
        assert any(is_slow(offer) for _, offer in lines)


def _grill(ask, spread, lines):
    """G10 as far as area and time of the fire go: no moment holds more than there is."""
    fire = ask.get("fire")
    if not fire:
        return
    usable = Fraction(str(fire.get("usable_fraction", 1)))
    area = {z["name"]: Fraction(str(z["area_sq_in"])) * usable for z in fire["zones"]}
    rounding = Fraction(1, 2)  # areas are shown to a tenth
    for load in spread["loads"]:
        assert load["at_min"] >= 0
        assert load["at_min"] + load["minutes"] <= fire["minutes"]
        used = sum(
            Fraction(str(other["area_sq_in"]))
            for other in spread["loads"]
            if other["zone"] == load["zone"]
            and other["at_min"] <= load["at_min"] < other["at_min"] + other["minutes"]
        )
        assert used <= area[load["zone"]] + rounding
    if not fire.get("oven") and not fire.get("pots"):
        laid = {load["id"] for load in spread["loads"]}
        assert laid == {line["id"] for line, _ in lines}
