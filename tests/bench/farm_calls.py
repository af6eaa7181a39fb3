"""Small farm calls for the tests, all invented, and an order found by trying every number."""

from __future__ import annotations

import itertools
import random

import numpy as np
from scipy.optimize import linprog

DATE = "2026-06-15"


def one_cut(**more):
    """Return a call for one animal that is one cut, on a week that is known."""
    problem = {
        "schema": "collop.farmcall/1", "week_of": DATE,
        "animals": [{"id": "lamb", "name": "Lamb", "kind": "whole", "weight": "10",
                     "price_per_unit": "5", "least": 0, "most": 20}],
        "kinds": [{"id": "whole", "styles": [
            {"id": "all", "minutes": "0", "outputs": [{"cut": "leg", "share": "1"}]}]}],
        "cuts": [{"id": "leg", "name": "Leg", "species": "lamb", "price": "10", "week": "40",
                  "steps": ["1"], "cv": 0}],
        "scenarios": {"list": [{"name": "usual", "chance": 1}]},
    }  # fmt: skip
    return {**problem, **more}


def _shares(rng, count):
    """Return `count` shares of thousandths that sum to 1 with a loss at the end."""
    weights = [rng.random() + 0.2 for _ in range(count + 1)]
    parts = [int(1000 * one / sum(weights)) or 1 for one in weights]
    parts[-1] += 1000 - sum(parts)
    return [f"{one / 1000:.3f}" for one in parts]


def _style(rng, name, targets):
    *shares, loss = _shares(rng, len(targets))
    outputs = [{**target, "share": share} for target, share in zip(targets, shares, strict=True)]
    outputs.append({"worth": rng.choice(["0", "0.25"]), "name": "bone", "share": loss})
    return {"id": name, "minutes": str(rng.randint(5, 40)), "outputs": outputs}


def tiny(seed):
    """Return a seeded call: two animals, a large cut, trim, mince, promises, labour and room."""
    rng = random.Random(seed)
    cuts = ["loin", "leg", "neck", "mince"]
    kinds = [
        {"id": "lamb", "styles": [
            _style(rng, "lamb-1", [{"kind": "saddle"}, {"cut": "leg"}, {"bin": "trim"}]),
            _style(rng, "lamb-2", [{"cut": "leg"}, {"cut": "neck"}, {"bin": "trim"}])]},
        {"id": "goat", "styles": [
            _style(rng, "goat-1", [{"cut": "leg"}, {"cut": "neck"}, {"kind": "saddle"}])]},
        {"id": "saddle", "styles": [
            _style(rng, "saddle-1", [{"cut": "loin"}]),
            _style(rng, "saddle-2", [{"cut": "neck"}, {"bin": "trim"}])]},
    ]  # fmt: skip
    lines = [
        {"id": cut, "species": "lamb" if cut != "neck" else "goat",
         "price": f"{rng.uniform(6, 22):.2f}", "week": f"{rng.uniform(2, 30):.1f}",
         "elasticity": round(rng.uniform(0.6, 2.5), 2), "steps": ["1", "0.85", "0.7"],
         "salvage": rng.choice(["0", "0.50"]), "on_hand": f"{rng.choice([0, 1.5]):.1f}",
         "ground": {"bin": "trim", "yield": "0.9", "minutes_per_unit": "2"}
         if cut in {"leg", "neck"} else None}
        for cut in cuts
    ]  # fmt: skip
    weeks = rng.randint(1, 4)
    chances = [round(1 / weeks, 3)] * weeks
    listed = [
        {"name": f"w{at}", "chance": chance,
         "factors": {"all": round(rng.uniform(0.6, 1.5), 2),
                     "leg": round(rng.uniform(0.7, 1.4), 2)}}
        for at, chance in enumerate(chances)
    ]  # fmt: skip
    return {
        "schema": "collop.farmcall/1", "week_of": DATE,
        "animals": [
            {"id": "lamb", "kind": "lamb", "weight": "45", "haulage": "6", "least": 0, "most": 3,
             "price_per_unit": f"{rng.uniform(3, 7):.2f}"},
            {"id": "goat", "kind": "goat", "weight": "30", "least": rng.choice([0, 0, 1]),
             "most": 2, "price_per_unit": f"{rng.uniform(2, 6):.2f}"}],
        "kinds": kinds, "cuts": lines,
        "hanging": [{"kind": "lamb", "weight": "41", "worth_left": "190"}]
        if rng.random() < 0.5 else [],
        "bins": [{"id": "trim", "fat": "0.2", "worth": "1.50", "on_hand": "0.8"}],
        "makes": [{"cut": "mince", "bins": ["trim"], "added": "0.05", "added_cost": "0.40",
                   "cost_per_unit": "0.10", "minutes_per_unit": "0.5"}],
        "standing": [{"name": "Inn", "cut": "loin", "weight": "4", "price": None}],
        "bookings": [{"name": "Feast", "cut": "leg", "weight": "9.5", "price": "7.00"}],
        "labour": {"minutes": str(rng.choice([30, 90, 400])), "per_hour": "24",
                   "overtime_minutes": str(rng.choice([0, 60])), "overtime_per_hour": "40"},
        "room": {"rail": str(rng.choice([90, 140, 400])), "hanging": "41"},
        "scenarios": {"list": listed},
    }  # fmt: skip


def _patterns(problem, kind):
    """Return every pure way to cut one unit of weight of a kind, large cuts and all.

    A pattern is (minutes a piece, weight of each output, money of by-products a unit of weight).
    """
    found = []
    (this,) = [one for one in problem["kinds"] if one["id"] == kind]
    for style in this["styles"]:
        options = [[(float(style["minutes"]), {}, 0.0)]]
        for output in style["outputs"]:
            share = float(output["share"])
            if "kind" in output:
                options.append(
                    [
                        (
                            minutes,
                            {key: share * value for key, value in gives.items()},
                            share * money,
                        )
                        for minutes, gives, money in _patterns(problem, output["kind"])
                    ]
                )
            elif "worth" in output:
                options.append([(0.0, {}, share * float(output["worth"]))])
            else:
                key = output.get("cut") or "bin " + output["bin"]
                options.append([(0.0, {key: share}, 0.0)])
        for parts in itertools.product(*options):
            gives = {}
            for _, given, _ in parts:
                for key, value in given.items():
                    gives[key] = gives.get(key, 0.0) + value
            found.append((sum(part[0] for part in parts), gives, sum(part[2] for part in parts)))
    return found  # fmt: skip


class _Lp:
    """A linear program that is written column by column."""

    def __init__(self):
        self.gains, self.most, self.columns = [], [], []

    def add(self, gain, most, **rows):
        self.gains.append(gain)
        self.most.append(most)
        self.columns.append(rows)

    def best(self, equal, under):
        matrix = {name: [column.get(name, 0.0) for column in self.columns]
                  for name in (*equal, *under)}  # fmt: skip
        done = linprog(
            -np.array(self.gains),
            A_eq=np.array([matrix[name] for name in equal]), b_eq=list(equal.values()),
            A_ub=np.array([matrix[name] for name in under]), b_ub=list(under.values()),
            bounds=[(0, most) for most in self.most], method="highs",
        )  # fmt: skip
        assert done.status == 0, done.message
        return -done.fun


def _week(problem, counts, factors, dear):
    """Return what one week brings: pure patterns mixed, and the week's demand shared over steps."""
    lp = _Lp()
    equal = {f"={one['id']}": -float(one["on_hand"]) for one in problem["cuts"]}
    equal |= {f"=bin {one['id']}": -float(one["on_hand"]) for one in problem["bins"]}
    under = {}
    constant = 0.0
    pieces = [(one["kind"], float(one["weight"]), count, 0.0)
              for one, count in zip(problem["animals"], counts, strict=True)]  # fmt: skip
    pieces += [(one["kind"], float(one["weight"]), 1, float(one["worth_left"]))
               for one in problem["hanging"]]  # fmt: skip
    for at, (kind, weight, count, kept) in enumerate(pieces):
        under[f"piece {at}"] = count
        constant += kept
        for minutes, gives, money in _patterns(problem, kind):
            rows = {f"={key}": weight * value for key, value in gives.items()}
            lp.add(weight * money - kept, None, minutes=minutes, **{f"piece {at}": 1.0}, **rows)
    for cut in problem["cuts"]:
        key, price = f"={cut['id']}", float(cut["price"])
        wants = float(cut["week"]) * factors["all"] * factors.get(cut["id"], 1.0)
        under[f"ladder {cut['id']}"] = 1.0
        for step in map(float, cut["steps"]):
            weight = wants * step ** -cut["elasticity"]
            lp.add(weight * step * price, 1.0, **{f"ladder {cut['id']}": 1.0, key: -weight})
        lp.add(float(cut["salvage"]), None, **{key: -1.0})
        if cut["ground"]:
            lp.add(0.0, None, minutes=2.0, **{key: -1.0, "=bin trim": 0.9})
    per = 1 / 0.95
    lp.add(-per * (0.05 * 0.4 + 0.1), None, minutes=per * 0.5, **{"=bin trim": -1.0, "=mince": per})
    lp.add(float(problem["bins"][0]["worth"]), None, **{"=bin trim": -1.0})
    prices = {one["id"]: float(one["price"]) for one in problem["cuts"]}
    for one in (*problem["standing"], *problem["bookings"]):
        price = prices[one["cut"]] if one["price"] is None else float(one["price"])
        constant -= dear * float(one["weight"])
        lp.add(price + dear, float(one["weight"]), **{f"={one['cut']}": -1.0})
    labour = problem["labour"]
    lp.add(-float(labour["per_hour"]) / 60, float(labour["minutes"]), minutes=-1.0)
    lp.add(-float(labour["overtime_per_hour"]) / 60, float(labour["overtime_minutes"]), minutes=-1)
    under["minutes"] = 0.0
    return lp.best(equal, under) + constant


def every_order(problem):
    """Return the value of each order that fits (shortage counted), by the numbers of animals."""
    cost = [float(one["weight"]) * float(one["price_per_unit"]) + float(one.get("haulage", 0))
            for one in problem["animals"]]  # fmt: skip
    weights = [float(one["weight"]) for one in problem["animals"]]
    free = float(problem["room"]["rail"]) - float(problem["room"]["hanging"])
    dear = max(float(one["price"]) for one in problem["cuts"])
    weeks = problem["scenarios"]["list"]
    whole = sum(one["chance"] for one in weeks)
    found = {}
    ranges = [range(one["least"], one["most"] + 1) for one in problem["animals"]]
    for counts in itertools.product(*ranges):
        if np.dot(counts, weights) > free:
            continue
        value = sum(
            one["chance"] / whole * _week(problem, counts, one["factors"], dear) for one in weeks
        )
        found[counts] = value - np.dot(counts, cost)
    return found
