"""Small invented weeks for the cutting plan, seeded, so that the same seed is the same week."""

from __future__ import annotations

import copy
import random
from datetime import date, timedelta

from hypothesis import strategies as st

from bench.plain_bench import plain

FIRST = date(2026, 6, 9)


def week(seed, *, most_choices=60, least_choices=2, large=None):
    """Return a small problem that can be cut in so many ways."""
    rng = random.Random(seed)
    while True:
        problem = _week(rng, seed, rng.random() < 0.3 if large is None else large)
        model = plain(problem)
        count = model.count()
        if least_choices <= count <= most_choices and any(map(model.settle, model.every_choice())):
            return problem


def weeks(**about):
    """Return a strategy of such problems."""
    return st.integers(0, 10**6).map(lambda seed: week(seed, **about))


def shuffled(problem, seed):
    """Return the same problem with its lists in another order (days and steps keep theirs)."""
    rng = random.Random(seed)
    other = copy.deepcopy(problem)
    for name in ("hands", "kinds", "rail", "cuts", "bins", "makes", "bookings"):
        rng.shuffle(other[name])
    for kind in other["kinds"]:
        rng.shuffle(kind["styles"])
    return other


def _week(rng, seed, large):
    days = rng.randint(2, 4)
    trims = _bins(rng) if rng.random() < 0.5 else []
    cuts = _cuts(rng, days, trims)
    makes = _makes(rng, cuts, trims)
    kinds = _kinds(rng, cuts, trims, large=large)
    rail = _rail(rng, kinds, days)
    hands = _hands(rng, kinds, days)
    room = None
    if rng.random() < 0.3:  # so that what has to be there fits
        # the plain model may let old stock spoil to make room and sell the young; a shop does not:
        # a week with a room has nothing that comes to the end of its days
        for cut in cuts:
            cut["keeps_days"] = max(days, cut["keeps_days"])
            for lot in cut["stock"]:
                lot["days_left"] = days
        there = sum(float(lot["weight"]) for cut in cuts for lot in cut["stock"])
        there += sum(float(piece["weight"]) for piece in rail if piece["must"] or piece["claims"])
        room = f"{there + rng.uniform(0, 12):.1f}"
    return {
        "schema": "collop.bench/1", "name": f"week {seed}", "currency": "USD", "unit": "lb",
        "rounding": rng.choice(["half-up", "half-even"]),
        "days": [
            {"day": (FIRST + timedelta(days=day)).isoformat(), "open": rng.random() < 0.85}
            for day in range(days)
        ],
        "hands": hands, "case_room": room, "kinds": kinds, "rail": rail, "cuts": cuts,
        "bins": trims, "makes": makes, "bookings": _bookings(rng, cuts, days),
        "locks": _locks(rng, kinds, rail), "before": None, "gap": 0, "reasons": False,
    }  # fmt: skip


def _bins(rng):
    return [
        {"id": f"trim-{letter}", "name": f"Trim {letter}", "species": "beef",
         "fat": f"{rng.uniform(0.05, 0.5):.2f}", "keeps_days": rng.randint(0, 2),
         "worth": rng.choice(["0.5", "1.20", "3.00"]),
         "stock": [{"weight": f"{rng.uniform(0.5, 5):.1f}", "days_left": rng.randint(0, 2),
                    "lot": ""}] if rng.random() < 0.4 else []}
        for letter in "ab"[: rng.randint(1, 2)]
    ]  # fmt: skip


def _cuts(rng, days, trims):
    found = []
    for number in range(1, rng.randint(2, 4) + 1):
        price = rng.uniform(4, 20)
        ground = None
        if trims and rng.random() < 0.5:
            ground = {"bin": rng.choice(trims)["id"], "yield": rng.choice(["1", "0.95"]),
                      "minutes_per_unit": rng.choice(["0", "2"])}  # fmt: skip
        salvage = rng.choice(["0", "0", "0.3"])
        left = None
        if rng.random() < 0.6:
            takes = None if rng.random() < 0.3 else f"{rng.uniform(0, 10):.1f}"
            left = {"worth": f"{price * rng.uniform(0.2, 0.7):.2f}", "takes": takes}
        stock = [
            {"weight": f"{rng.uniform(0.3, 5):.2f}", "days_left": rng.randint(0, 4),
             "lot": f"C{number}-{index}"}
            for index in range(rng.choice([0, 0, 1, 2]))
        ]  # fmt: skip
        found.append({
            "id": f"C{number}", "name": f"Cut {number}", "species": "beef",
            "price": f"{price:.2f}", "keeps_days": rng.randint(0, 4),
            "usual": [f"{rng.uniform(0, 7):.1f}" for _ in range(days)],
            "elasticity": rng.choice([None, 0.6, 1.2, 2.5]),
            "steps": rng.choice([None, ["1", "0.8"], ["1"]]), "salvage": salvage, "ground": ground,
            "left": left, "stock": sorted(stock, key=lambda lot: lot["days_left"]),
        })  # fmt: skip
    return found


def _makes(rng, cuts, trims):
    # what is made of trim is not ground again: with something added it would grow without end
    cuts = [cut for cut in cuts if not cut["ground"]]
    if not trims or not cuts or rng.random() < 0.3:
        return []
    limits = rng.choice([("0.30", None), ("0.20", None), (None, "0.15"), (None, None)])
    return [{
        "cut": rng.choice(cuts)["id"], "name": "Mince", "bins": [one["id"] for one in trims],
        "fat_max": limits[0], "fat_min": limits[1], "added": rng.choice(["0", "0.1"]),
        "added_cost": "0.40", "cost_per_unit": rng.choice(["0", "0.25"]),
        "minutes_per_unit": rng.choice(["0", "0.5"]),
    }]  # fmt: skip


def _style(rng, name, cuts, trims, below):
    to = [{"cut": cut["id"]} for cut in rng.sample(cuts, rng.randint(1, min(3, len(cuts))))]
    if below:
        to.append({"kind": below})
    if trims and rng.random() < 0.7:
        to.append({"bin": rng.choice(trims)["id"]})
    to.append({"worth": rng.choice(["0", "0.2"]), "name": "bone and loss"})
    # a whole number of pounds, tenths for a large cut, hundredths for the rest: most parts end at a
    # thousandth of a pound, so that rounding cannot hide a difference
    left = 100
    if below:
        share = 10 * rng.randint(1, 5)
        next(one for one in to if "kind" in one)["share"] = f"{share / 100:.2f}"
        left -= share
    rest = [one for one in to if "kind" not in one]
    marks = sorted(rng.sample(range(1, left), len(rest) - 1))
    for one, low, high in zip(rest, [0, *marks], [*marks, left], strict=True):
        one["share"] = f"{(high - low) / 100:.2f}"
    return {"id": name, "name": f"Style {name}", "minutes": str(rng.randint(10, 45)), "outputs": to}


def _kinds(rng, cuts, trims, *, large):
    found = []
    for number in range(1, rng.randint(1, 2) + 1):
        below = "saddle" if large and number == 1 else None
        styles = [
            _style(rng, f"s{number}{letter}", cuts, trims, below if letter == "a" else None)
            for letter in "abc"[: rng.randint(1, 3)]
        ]
        found.append({"id": f"kind {number}", "name": f"Kind {number}", "species": "beef",
                      "holds_days": 0, "styles": styles})  # fmt: skip
    if large:
        styles = [_style(rng, f"l{letter}", cuts, trims, None) for letter in "ab"]
        found.append({"id": "saddle", "name": "Saddle", "species": "beef",
                      "holds_days": rng.randint(0, 1), "styles": styles})  # fmt: skip
    return found


def _rail(rng, kinds, days):
    found = []
    for number in range(1, rng.randint(1, 4) + 1):
        weight = rng.randint(8, 40)
        first = rng.choice([0, 0, rng.randrange(days)])
        last = rng.choice([None, rng.randint(first, days - 1)])
        claims = []
        forced = number == 1 and rng.random() < 0.4
        if forced and rng.random() < 0.6:
            claims = [{"booking": "H9", "name": "Claim", "weight": f"{weight / 2:.1f}",
                       "due": rng.randint(first, days - 1)}]  # fmt: skip
        found.append({
            "tag": f"P-{number}", "kind": rng.choice(kinds[:2])["id"], "weight": f"{weight}.0",
            "shrink_per_day": rng.choice(["0", "0", "0", "0.02"]), "from": first, "until": last,
            "must": forced and not claims,
            # what has to be broken is dear, so that no booking is ever set above it
            "worth_left": f"{weight * (30 if forced else rng.uniform(0.5, 6)):.2f}",
            "claims": claims,
        })  # fmt: skip
    return found


def _hands(rng, kinds, days):
    found = []
    for name in ["Ana", "Bo"][: rng.randint(1, 2)]:
        styles = [style["id"] for kind in kinds for style in kind["styles"]]
        found.append({
            "name": name, "minutes": [str(rng.randint(60, 200)) for _ in range(days)],
            "overtime": rng.choice([None, ["60"] * days]), "per_hour": rng.choice(["0", "24.00"]),
            "overtime_per_hour": rng.choice([None, "30.00"]),
            "cannot": [rng.choice(styles)] if name == "Bo" and rng.random() < 0.5 else [],
        })  # fmt: skip
    return found


def _bookings(rng, cuts, days):
    return [
        {"id": f"H{number}", "name": f"Booking {number}", "due": rng.randrange(days), "lines": [
            {"cut": cut["id"], "weight": f"{rng.uniform(0.5, 8):.1f}",
             "price": rng.choice([None, f"{float(cut['price']) * 0.9:.2f}"])}
            for cut in rng.sample(cuts, rng.randint(1, 2))
        ]}
        for number in range(1, rng.choice([0, 1, 1, 2]) + 1)
    ]  # fmt: skip


def _locks(rng, kinds, rail):
    free = [piece for piece in rail if not piece["must"] and not piece["claims"]]
    if not free or rng.random() < 0.8:
        return []
    piece = rng.choice(free)
    if rng.random() < 0.4:
        return [{"tag": piece["tag"], "style": None, "day": None}]
    styles = next(kind for kind in kinds if kind["id"] == piece["kind"])["styles"]
    return [{"tag": piece["tag"], "style": rng.choice(styles)["id"], "day": piece["from"]}]
