"""Blends for the tests: invented ones, random ones, and the same program for another solver."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from scipy.optimize import linprog

BEEF = {"id": "beef", "species": "beef", "fat": 0.3, "price": "3.00"}
LEAN = {"id": "lean", "species": "beef", "fat": 0.1, "price": "5.00", "protein": 0.2}
FAT = {"id": "fat", "species": "beef", "fat": 0.5, "price": "2.00", "protein": 0.1}
PORK = {"id": "pork", "species": "pork", "fat": 0.4, "price": "2.00"}


def problem(bins, *recipes, **more):
    """Return a problem; each recipe is given an id."""
    numbered = [{"id": f"r{at}"} | recipe for at, recipe in enumerate(recipes)]
    return {"schema": "collop.blend/1", "bins": list(bins), "recipes": numbered, **more}


def factor(recipe):
    """Return finished weight per unit of meat."""
    shares = {"meat": 0.0, "finished": 0.0}
    for one in recipe.get("added", ()):
        shares[one["of"]] += one["share"]
    return (1 + shares["meat"]) / (1 - shares["finished"])


def around(recipe):
    """Return the money that is added and cased around a unit of meat."""
    k = factor(recipe)
    casing = float((recipe.get("casing") or {}).get("per_unit", 0)) * k
    return casing + sum(
        float(one.get("price", 0)) * one["share"] * (1 if one["of"] == "meat" else k)
        for one in recipe.get("added", ())
    )


def _limits(recipe):
    """Yield what is limited, its side, its share and what it is a share of."""
    for key in ("fat", "protein"):
        limits = recipe.get(key) or {}
        for side in ("max", "min"):
            if limits.get(side) is not None:
                yield key, side, limits[side], limits.get("of", "meat")
    for limit in recipe.get("bin_limits", ()):
        for side in ("max", "min"):
            if limit.get(side) is not None:
                yield limit["bin"], side, limit[side], "meat"


def _part(one, what):
    return one[what] if what in {"fat", "protein"} else float(one["id"] == what)


class _Rows:
    """The rows of a problem over columns of recipe and bin."""

    def __init__(self, asked):
        self.bins, self.recipes = asked["bins"], asked["recipes"]
        self.pairs = [
            (r, b)
            for r, recipe in enumerate(self.recipes)
            for b, one in enumerate(self.bins)
            if recipe.get("bins") is None or one["id"] in recipe["bins"]
        ]
        self.upper, self.upper_to, self.equal, self.equal_to = [], [], [], []

    def row(self, of, value):
        return [value(self.bins[b]) if r == of else 0.0 for r, b in self.pairs]

    def limit(self, r, what, side, share):
        sign = 1.0 if side == "max" else -1.0
        self.upper.append(self.row(r, lambda one: sign * (_part(one, what) - share)))
        self.upper_to.append(0.0)

    def weight(self, r):
        recipe, k = self.recipes[r], factor(self.recipes[r])
        made = self.row(r, lambda _: k)
        if recipe.get("make") is not None:
            self.equal.append(made)
            self.equal_to.append(float(recipe["make"]))
        elif recipe.get("most") is not None:
            self.upper.append(made)
            self.upper_to.append(float(recipe["most"]))

    def ends(self):
        for b, one in enumerate(self.bins):
            if one.get("available") is not None:
                self.upper.append([float(of == b) for _, of in self.pairs])
                self.upper_to.append(float(one["available"]))

    def cost(self, r, b):
        recipe = self.recipes[r]
        sold = float(recipe["price"]) * factor(recipe) if recipe.get("make") is None else 0.0
        return float(self.bins[b]["price"]) + around(recipe) - sold


def by_scipy(asked, published=None):
    """Solve a problem by SciPy, written down anew from its JSON; None if there is no blend.

    `published` is a share of fat in the finished weight, by the id of the recipe.
    """
    rows = _Rows(asked)
    for r, recipe in enumerate(rows.recipes):
        for what, side, share, of in _limits(recipe):
            rows.limit(r, what, side, share * (factor(recipe) if of == "finished" else 1.0))
        if recipe["id"] in (published or {}):
            rows.limit(r, "fat", "max", published[recipe["id"]] * factor(recipe))
        rows.weight(r)
    rows.ends()
    found = linprog([rows.cost(r, b) for r, b in rows.pairs], A_ub=rows.upper or None,
                    b_ub=rows.upper_to or None, A_eq=rows.equal or None,
                    b_eq=rows.equal_to or None, method="highs-ipm")  # fmt: skip
    assert found.status in {0, 2}
    return found.fun if found.status == 0 else None


def random_problem(seed):
    """Return one of many random problems; about one in three has no answer."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(2, 7))
    bins = []
    for b in range(count):
        fat = round(float(rng.uniform(0.03, 0.75)), 3)
        bins.append({
            "id": f"b{b}", "species": "pork", "fat": fat,
            "protein": round((1 - fat) * 0.22, 3),
            "available": f"{rng.uniform(2, 40):.2f}" if rng.random() < 0.7 else None,
            "price": f"{5.5 * (1 - fat) + rng.uniform(0, 1):.2f}",
        })  # fmt: skip
    recipes = [_random_recipe(rng, f"r{r}", bins) for r in range(int(rng.integers(1, 4)))]
    return {"schema": "collop.blend/1", "bins": bins, "recipes": recipes}


def _random_recipe(rng, name, bins):
    low = round(float(rng.uniform(0.08, 0.35)), 3)
    found = {"id": name, "fat": {"min": low, "max": round(low + float(rng.uniform(0, 0.2)), 3),
                                 "of": str(rng.choice(["meat", "finished"]))}}  # fmt: skip
    if rng.random() < 0.3:
        found["protein"] = {"min": round(float(rng.uniform(0.05, 0.14)), 3)}
    if rng.random() < 0.3:
        found["bin_limits"] = [
            {"bin": bins[0]["id"], "max": round(float(rng.uniform(0.2, 0.9)), 2)}
        ]
    if rng.random() < 0.6:
        found["added"] = [
            {"name": "salt", "of": "meat", "share": 0.018, "price": "0.50", "kind": "salt"},
            {"name": "water", "of": "finished", "share": 0.03, "kind": "water"},
        ]
        found["casing"] = {"species": "hog", "per_unit": "0.35"}
    if rng.random() < 0.6:
        found["make"] = f"{rng.uniform(1, 30):.2f}"
    else:
        found |= {"price": f"{rng.uniform(2, 8):.2f}", "most": f"{rng.uniform(1, 30):.2f}"}
    if rng.random() < 0.4:
        found["batch"] = f"{rng.uniform(2, 12):.1f}"
    if rng.random() < 0.5:
        # no limit of its own above: the published one is the only one
        found |= {"standard": "fresh pork sausage", "fat": {"min": low, "of": found["fat"]["of"]}}
    return found


def published_of(asked):
    """Return 50 % fat for each recipe under the standard of fresh pork sausage."""
    return {one["id"]: 0.5 for one in asked["recipes"] if one.get("standard")}


def kept_exactly(asked, plan):
    """Return what a plan breaks, from its texts and the problem alone, in exact fractions."""
    bins = {one["id"]: one for one in asked["bins"]}
    used = dict.fromkeys(bins, Fraction(0))
    wrong = []
    for recipe, made in zip(asked["recipes"], plan["recipes"], strict=True):
        wrong += _wrong_in(recipe, made, bins)
        for line in made["bins"]:
            used[line["bin"]] += Fraction(line["weight"])
    for name, one in bins.items():
        if one.get("available") is not None and used[name] > Fraction(one["available"]):
            wrong.append(f"{name} gives too much")
    return wrong


def _wrong_in(recipe, made, bins):
    weights = {line["bin"]: Fraction(line["weight"]) for line in made["bins"]}
    meat, finished = sum(weights.values(), Fraction(0)), Fraction(made["finished"])
    wrong = {
        "meat": meat != Fraction(made["meat"]),
        "finished": meat + sum(Fraction(one["weight"]) for one in made["added"]) != finished,
        "make": bool(recipe.get("make")) and Fraction(recipe["make"]) != finished,
        "most": bool(recipe.get("most")) and Fraction(recipe["most"]) < finished,
    }
    batches = sum(one["times"] for one in made["batches"]) or 1
    for what, side, share, of in _limits(recipe):
        held = sum((_exact(bins[b], what) * w for b, w in weights.items()), Fraction(0))
        over = held - Fraction(str(share)) * (finished if of == "finished" else meat)
        # the recipe's own limits are met to a thousandth of the unit in each batch
        wrong[f"{what} {side}"] = (over if side == "max" else -over) > Fraction(batches, 1000)
    wrong |= _wrong_batches(recipe, made)
    if recipe.get("standard") == "fresh pork sausage":
        wrong["published"] = any(_over_published(one, bins) for one in [made, *made["batches"]])
    return [name for name, is_wrong in wrong.items() if is_wrong]


def _exact(one, what):
    return Fraction(str(_part(one, what)))


def _wrong_batches(recipe, made):
    if not made["batches"]:
        return {}
    sizes = [(Fraction(one["finished"]), one["times"]) for one in made["batches"]]
    return {
        "batches": sum(size * times for size, times in sizes) != Fraction(made["finished"]),
        "mixer": any(size > Fraction(recipe["batch"]) for size, _ in sizes),
    }


def _over_published(one, bins):
    whole = Fraction(one["finished"])
    fat = sum(_exact(bins[x["bin"]], "fat") * Fraction(x["weight"]) for x in one["bins"])
    water = sum(Fraction(x["weight"]) for x in one["added"] if x["name"] == "water")
    return fat > whole / 2 or water > whole * 3 / 100
