"""Cutting patterns of carcass sections, day by day: a program of its own beside the cutting plan.

The method is that of O01 (Albornoz, Gonzalez-Araya, Gripe, Rodriguez, "A mixed integer linear
program for operational planning in a meat packing plant", 2015), from memory, ideas only: whole
numbers of a class's sections in each pattern on each day, product by the day it was made and the
day it is sold, never past its shelf life, demand by product and day, hours and overtime.  The data
of that paper are not at hand; nothing here repeats a figure of it.

Yields are published rows of the package's tables; every price, demand, minute, weight of a piece
and shelf life that a test does not cite is invented.
"""

from __future__ import annotations

import warnings
from collections import Counter
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction

import pulp

from collop.reference import cut_style_rows, yield_rows

FIRST = date(2026, 6, 9)


@dataclass(frozen=True)
class Pattern:
    """Minutes a piece, share of it that becomes each product, and shares sold at once for money."""

    minutes: Fraction
    gives: dict
    at_once: tuple = ()

    def closing(self):
        """Return the share that becomes nothing: bone, fat, loss."""
        return 1 - sum(self.gives.values()) - sum(share for share, _ in self.at_once)


@dataclass(frozen=True)
class Batch:
    """Pieces of one class: how many, what each weighs, the days on which they may be cut."""

    kind: str
    count: int
    weight: Fraction
    first: int
    last: int


@dataclass(frozen=True)
class Product:
    """Price, days it keeps, and the most that sells each day."""

    price: Fraction
    keeps: int
    demand: tuple


@dataclass(frozen=True)
class Plant:
    """One instance: `kinds` holds the patterns of each class and section."""

    name: str
    kinds: dict
    batches: tuple
    products: dict
    minutes: tuple
    overtime: tuple
    per_hour: Fraction
    overtime_per_hour: Fraction

    @property
    def days(self):
        """Return how many days there are."""
        return len(self.minutes)

    def only(self, chosen):
        """Return the plant with one pattern a kind."""
        kinds = {kind: {one: self.kinds[kind][one]} for kind, one in chosen.items()}
        return replace(self, kinds=kinds)

    def keeping(self, days):
        """Return the plant with another shelf life of every product."""
        products = {name: replace(one, keeps=days) for name, one in self.products.items()}
        return replace(self, products=products)


@contextmanager
def quiet():
    """Silence PuLP, which warns of names that its next major version will not have."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        yield


class Program:
    """The age-indexed program of one plant, for PuLP and CBC."""

    def __init__(self, plant, *, relaxed=False):
        self.plant = plant
        self.made = {}
        with quiet():
            self._build("Continuous" if relaxed else "Integer")

    def _build(self, category):
        plant, days = self.plant, range(self.plant.days)
        self.model = pulp.LpProblem("plant", pulp.LpMaximize)
        cut = {}
        for index, batch in enumerate(plant.batches):
            for at, pattern in enumerate(plant.kinds[batch.kind]):
                for day in range(batch.first, batch.last + 1):
                    name = f"cut_{index}_{at}_{day}"
                    cut[index, pattern, day] = pulp.LpVariable(name, 0, batch.count, category)
            self.model += pulp.lpSum(
                one for (which, _, _), one in cut.items() if which == index
            ) <= batch.count  # fmt: skip
        self.cut = cut
        sold = {
            (product, made, on): pulp.LpVariable(f"sold_{at}_{made}_{on}", 0)
            for at, (product, about) in enumerate(plant.products.items())
            for made in days
            for on in range(made, min(made + about.keeps, plant.days - 1) + 1)
        }
        for product, about in plant.products.items():
            for day in days:
                self.model += pulp.lpSum(
                    one for (what, made, _), one in sold.items() if (what, made) == (product, day)
                ) <= pulp.lpSum(
                    float(plant.batches[which].weight * gives) * one
                    for (which, pattern, on), one in cut.items() if on == day
                    if (gives := self._pattern(which, pattern).gives.get(product))
                )  # fmt: skip
                self.model += pulp.lpSum(
                    one for (what, _, on), one in sold.items() if (what, on) == (product, day)
                ) <= float(about.demand[day])  # fmt: skip
        pay = []
        for day in days:
            usual = pulp.LpVariable(f"usual_{day}", 0, float(plant.minutes[day]))
            over = pulp.LpVariable(f"over_{day}", 0, float(plant.overtime[day]))
            self.model += pulp.lpSum(
                float(self._pattern(which, pattern).minutes) * one
                for (which, pattern, on), one in cut.items() if on == day
            ) <= usual + over  # fmt: skip
            pay += [float(plant.per_hour / 60) * usual, float(plant.overtime_per_hour / 60) * over]
        self.money = pulp.lpSum(
            float(plant.products[product].price) * one for (product, _, _), one in sold.items()
        ) + pulp.lpSum(
            float(plant.batches[which].weight * share * money) * one
            for (which, pattern, _), one in cut.items()
            for share, money in self._pattern(which, pattern).at_once
        ) - pulp.lpSum(pay)  # fmt: skip

    def _pattern(self, which, pattern):
        return self.plant.kinds[self.plant.batches[which].kind][pattern]

    def _solve(self, aim):
        with quiet():
            self.model.setObjective(aim)
            tool = pulp.PULP_CBC_CMD(msg=False, gapRel=0, gapAbs=1e-6, threads=1)
            assert pulp.LpStatus[self.model.solve(tool)] == "Optimal"
            return pulp.value(aim)

    def best(self):
        """Return the most money."""
        return self._solve(self.money)

    def best_otherwise(self, counts, group):
        """Return the most money of a plan with other numbers of pieces than `counts`.

        `group` names what a kind and a pattern count as: a list of labels.  Call it last.
        """
        numbers = {}
        for (which, way, _), one in self.cut.items():
            for label in group(self.plant.batches[which].kind, way):
                numbers.setdefault(label, []).append(one)
        with quiet():
            self._not_these(numbers, counts)
        return self._solve(self.money)

    def _not_these(self, numbers, counts):
        """Ask that at least one number is above its count, or below it."""
        most = sum(batch.count for batch in self.plant.batches)
        other = []
        for index, (label, parts) in enumerate(numbers.items()):
            more = pulp.LpVariable(f"more_{index}", cat="Binary")
            fewer = pulp.LpVariable(f"fewer_{index}", cat="Binary")
            number, here = pulp.lpSum(parts), counts.get(label, 0)
            self.model += number >= (here + 1) * more
            self.model += number <= here - 1 + (most + 1 - here) * (1 - fewer)
            other += [more, fewer]
        self.model += pulp.lpSum(other) >= 1


def text(value):
    """Return an exact number as a decimal; it must have one of up to 12 places."""
    scaled = value * 10**12
    assert scaled.denominator == 1, value
    whole, rest = divmod(scaled.numerator, 10**12)
    return f"{whole}.{rest:012d}".rstrip("0").rstrip(".")


def style_of(kind, pattern):
    """Return the id of a pattern as a style; split at ": " it is kind and pattern again."""
    return f"{kind}: {pattern}"


def outputs_of(pattern):
    """Return the outputs of a pattern as the cutting plan is asked them."""
    outputs = [{"cut": what, "share": text(share)} for what, share in pattern.gives.items()]
    for share, money in pattern.at_once:
        outputs.append({"worth": text(money), "name": "sold at once", "share": text(share)})
    if pattern.closing():
        outputs.append({"worth": "0", "name": "bone, fat, loss", "share": text(pattern.closing())})
    return outputs


def kinds_of(plant):
    """Return kinds and styles as the cutting plan is asked them."""
    return [
        {"id": kind, "name": kind, "species": "",
         "styles": [{"id": style_of(kind, name), "name": name, "minutes": text(one.minutes),
                     "outputs": outputs_of(one)} for name, one in patterns.items()]}
        for kind, patterns in plant.kinds.items()
    ]  # fmt: skip


def asked(plant):
    """Return the same instance as a ``collop.bench/1`` problem: one price, nothing left is worth.

    What is past its shelf life, and what is left after the last day, brings nothing in either.
    """
    return {
        "schema": "collop.bench/1", "name": plant.name, "unit": "lb", "gap": 0, "reasons": False,
        "days": [{"day": (FIRST + timedelta(days=day)).isoformat()} for day in range(plant.days)],
        "hands": [{"name": "the block", "minutes": [text(one) for one in plant.minutes],
                   "overtime": [text(one) for one in plant.overtime],
                   "per_hour": text(plant.per_hour),
                   "overtime_per_hour": text(plant.overtime_per_hour)}],
        "kinds": kinds_of(plant),
        "rail": [
            {"tag": f"{batch.kind} {which}-{number}", "kind": batch.kind,
             "weight": text(batch.weight), "from": batch.first, "until": batch.last}
            for which, batch in enumerate(plant.batches) for number in range(batch.count)
        ],
        "cuts": [
            {"id": name, "name": name, "price": text(one.price), "keeps_days": one.keeps,
             "usual": [text(amount) for amount in one.demand], "steps": ["1"]}
            for name, one in plant.products.items()
        ],
    }  # fmt: skip


def chosen(plan):
    """Return how many pieces of a plan are cut by each kind and pattern."""
    return Counter(tuple(row["style"].split(": ")) for row in plan["breaks"])


def ages(cut, keeps):
    """Return the oldest age at which a cut of a plan is sold, and the weight that grew too old.

    What is past its days is taken out first, then the oldest of the rest is sold; that this covers
    the sales of every day shows that none of them needs anything older.
    """
    lots, oldest, spoilt = [], 0, Fraction(0)
    for row in cut["days"]:
        spoilt += sum(weight for day, weight in lots if row["day"] - day > keeps)
        lots = [lot for lot in lots if row["day"] - lot[0] <= keeps]
        lots.append([row["day"], Fraction(row["in"])])
        wanted = Fraction(row["sold"])
        for lot in lots:
            taken = min(lot[1], wanted)
            if taken:
                oldest = max(oldest, row["day"] - lot[0])
            lot[1] -= taken
            wanted -= taken
        assert not wanted, f"{cut['name']}: {wanted} sold that was not there and sound"
    return oldest, spoilt


def grain(problem):
    """Return the most that rounding to a thousandth of a unit may move: weights are cut to it."""
    price = {cut["id"]: Fraction(cut["price"]) for cut in problem["cuts"]}
    styles = {kind["id"]: kind["styles"] for kind in problem["kinds"]}
    return float(sum(
        max(
            sum((price.get(one.get("cut"), Fraction(0)) for one in style["outputs"]
                 if (Fraction(piece["weight"]) * Fraction(one["share"]) * 1000).denominator > 1),
                Fraction(0))
            for style in styles[piece["kind"]]
        ) / 1000
        for piece in problem["rail"]
    ))  # fmt: skip


def published(table, primal, source):
    """Return the lines of one section of a published table, weights by item, all of them seen."""
    rows = yield_rows(table, primal=primal, cited_only=True)
    assert rows
    assert {row.source.source_id for row in rows} == {source}
    return {row.item: row for row in rows}


def closing_shares(table, primal, source):
    """Return the shares of a section whose printed pounds close, bone and fat left out."""
    rows = published(table, primal, source)
    weights = {item: Fraction(row.lb) for item, row in rows.items()}
    whole = sum(weights.values())
    assert whole == Fraction(next(iter(rows.values())).primal_lb.low)
    return {item: weight / whole for item, weight in weights.items() if item != "fat and bone"}


def share_of(table, item, source):
    """Return one published share of a section."""
    (row,) = [row for row in yield_rows(table, cited_only=True) if row.item == item]
    assert row.source.source_id == source
    return Fraction(row.pct_of_primal) / 100


def trial(group, style, source):
    """Return the spans of one boning trial: share that can be sold, minutes a piece."""
    (row,) = [row for row in cut_style_rows(group, kind="total") if row.style == style]
    assert row.source.source_id == source
    assert row.is_cited
    assert row.minutes_status == "seen"
    return row
