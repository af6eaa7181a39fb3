"""Small shops with one cut each, whose plans can be worked out by hand, and seeded random ones."""

from __future__ import annotations

import copy
import random
from decimal import Decimal

DAYS = [{"day": f"2026-06-{day:02}", "open": True} for day in (9, 10, 11, 12)]


def cut(**more):
    """Return a cut that sells at one price only."""
    plain = {"id": "leg", "name": "Lamb leg", "species": "lamb", "price": "10.00", "keeps_days": 6,
             "usual": ["0"] * 4, "steps": ["1"]}  # fmt: skip
    return plain | more


def shop(*cuts, bookings=(), **more):
    """Return a problem without a rail: what is in the case is all there is."""
    plain = {
        "schema": "collop.bench/1", "days": DAYS,
        "hands": [{"name": "Marek", "minutes": ["60"] * 4, "per_hour": "24.00"}],
        "cuts": list(cuts), "bookings": list(bookings), "gap": 0.0, "reasons": False,
    }  # fmt: skip
    return plain | more


def full(weight="10", days_left=6, **more):
    """Return a shop that has meat which nobody there buys."""
    return shop(cut(stock=[{"weight": weight, "days_left": days_left, "lot": "a"}], **more))


def empty(usual=("0", "3", "3", "0"), bookings=(), **more):
    """Return a shop that would sell meat it does not have."""
    return shop(cut(usual=list(usual), **more), bookings=bookings)


def between(*problems, vans=({},)):
    """Return the problem of shops A, B, ...; each van goes from A to B if it says no other."""
    shops = [{"id": "ABCD"[at], "name": f"shop {'ABCD'[at]}", "problem": problem}
             for at, problem in enumerate(problems)]  # fmt: skip
    plain = {"from": "A", "to": "B", "cost_per_unit": "0.40", "days": 1}
    return {
        "schema": "collop.benches/1",
        "shops": shops,
        "transfers": [plain | van for van in vans],
    }


def _random_shop(pick):
    cuts = []
    for name in ("leg", "chops", "shoulder"):
        stock = [
            {
                "weight": f"{pick.randint(5, 120) / 10}",
                "days_left": pick.randint(0, 5),
                "lot": str(at),
            }
            for at in range(pick.randint(0, 3))
        ]
        cuts.append(cut(
            id=name, name=name, price=f"{pick.randint(500, 2000) / 100}", stock=stock,
            keeps_days=pick.randint(1, 4), usual=[f"{pick.randint(0, 60) / 10}" for _ in DAYS],
            steps=["1", "0.8"], elasticity=1.5, salvage="0.20",
            left={"worth": "3.00", "takes": "4"},
        ))  # fmt: skip
    outputs = [
        {"cut": "leg", "share": "0.4"}, {"cut": "chops", "share": "0.25"},
        {"cut": "shoulder", "share": "0.3"}, {"worth": "0", "name": "loss", "share": "0.05"},
    ]  # fmt: skip
    style = {"id": "lamb", "name": "Lamb", "minutes": "30", "outputs": outputs}
    kind = {"id": "lamb", "name": "Lamb", "species": "lamb", "styles": [style]}
    rail = [{"tag": f"L-{at}", "kind": "lamb", "weight": "40", "worth_left": "150"}
            for at in range(pick.randint(0, 2))]  # fmt: skip
    bookings = [
        {"id": f"H{at}", "name": "a booking", "due": pick.randint(0, 3),
         "lines": [{"cut": pick.choice(("leg", "chops")), "weight": f"{pick.randint(5, 90) / 10}"}]}
        for at in range(pick.randint(0, 2))
    ]  # fmt: skip
    return shop(*cuts, bookings=bookings, kinds=[kind], rail=rail)


def random_shops(seed):
    """Return three random shops with a van between each two."""
    pick = random.Random(seed)
    vans = [
        {"from": one, "to": other, "cost_per_unit": f"{pick.randint(0, 150) / 100}",
         "days": pick.randint(0, 2), "most": pick.choice((None, "5.5"))}
        for one in "ABC" for other in "ABC" if one != other
    ]  # fmt: skip
    return between(*(_random_shop(pick) for _ in "ABC"), vans=vans)


def with_vans(problem, plan, at):
    """Return a shop's problem with the vans that go, written out anew from the plan alone."""
    found = copy.deepcopy(problem["shops"][at]["problem"])
    here = problem["shops"][at]["id"]
    inside = plan["shops"][at]["plan"]
    own = {booking["id"] for booking in found["bookings"]}
    leaving = [one for one in inside["bookings"] if one["id"] not in own]
    for one in leaving:
        lines = [{"cut": line["cut"], "weight": line["weight"], "price": "0.000001"}
                 for line in one["lines"]]  # fmt: skip
        found["bookings"].append(
            {"id": one["id"], "name": one["name"], "due": one["due"], "lines": lines}
        )
    tags = {piece["tag"] for piece in found.get("rail", [])}
    found.setdefault("kinds", [])
    found.setdefault("rail", [])
    for one in inside["breaks"]:
        if one["tag"] in tags:
            continue
        (output,) = one["outputs"]
        if not any(kind["id"] == one["kind"] for kind in found["kinds"]):
            style = {"id": one["style"], "name": one["style_name"], "minutes": "0",
                     "outputs": [{"cut": output["id"], "share": "1"}]}  # fmt: skip
            found["kinds"].append({"id": one["kind"], "name": one["kind"], "species": "lamb",
                                   "styles": [style]})  # fmt: skip
        found["rail"].append({"tag": one["tag"], "kind": one["kind"], "weight": one["weight"],
                              "worth_left": "0"})  # fmt: skip
    sent = [line for trip in plan["transfers"] if trip["from"] == here for line in trip["lines"]]
    told = sum(Decimal(line["weight"]) for line in sent)
    assert told == sum(Decimal(line["weight"]) for one in leaving for line in one["lines"])
    return found
