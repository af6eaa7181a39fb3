"""What is made of trim and what is ground into it: recipes, fat, weights."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from collop.bench.checker_parts import STEP, amount, number, total
from collop.bench.problem import BenchProblem, Make

__all__ = ["ground_by_day", "ground_into", "made_by_day", "make_of", "trim_rules", "used_by_day"]

# the fat of a make is told to a tenth of a percent or finer
_FAT_TOLD = Fraction(1, 1000)


def make_of(problem: BenchProblem, row: Mapping[str, Any]) -> Make | None:
    """Return what a told make stands for; None if nothing."""
    for make in problem.makes:
        if (make.cut, make.name) == (row["cut"], row["name"]):
            return make
    return None


def made_by_day(plan: Mapping[str, Any], cut: str) -> dict[int, Fraction]:
    """Return what is made of a cut on each day."""
    return _by_day((row["day"], row["weight"]) for row in plan["makes"] if row["cut"] == cut)


def used_by_day(plan: Mapping[str, Any], bin_: str) -> dict[int, Fraction]:
    """Return what makes take of a bin on each day."""
    return _by_day(
        (make["day"], row["weight"])
        for make in plan["makes"]
        for row in make["from"]
        if row["bin"] == bin_
    )


def ground_by_day(plan: Mapping[str, Any], cut: str) -> dict[int, Fraction]:
    """Return what is ground of a cut on each day."""
    return _by_day((row["day"], row["weight"]) for row in plan["grinds"] if row["cut"] == cut)


def ground_into(plan: Mapping[str, Any], bin_: str) -> dict[int, Fraction]:
    """Return what grinding brings into a bin on each day."""
    return _by_day((row["day"], row["gives"]) for row in plan["grinds"] if row["bin"] == bin_)


def _by_day(rows: Iterator[tuple[int, str]]) -> dict[int, Fraction]:
    found: dict[int, Fraction] = defaultdict(Fraction)
    for day, weight in rows:
        found[day] += amount(weight)
    return found


def trim_rules(problem: BenchProblem, plan: Mapping[str, Any]) -> Iterator[str]:
    """Yield each make outside its recipe and each cut that is ground as it may not be."""
    for row in plan["makes"]:
        make = make_of(problem, row)
        if make is None:
            yield f"{row['name']} is nothing that was to be made"
        else:
            yield from _make_rules(problem, make, row)
    for row in plan["grinds"]:
        cut = problem.cuts.get(row["cut"])
        if cut is None or cut.ground is None or cut.ground.bin != row["bin"]:
            yield f"{row['cut']} may not be ground into {row['bin']}"
            continue
        weight, gives = amount(row["weight"]), amount(row["gives"])
        if weight < 0 or abs(gives - weight * cut.ground.gives) > STEP:
            yield f"{row['cut']} gives {float(gives)} when {float(weight)} is ground"
        yield from _day_rules(problem, row, row["cut"])


def _day_rules(problem: BenchProblem, row: Mapping[str, Any], name: str) -> Iterator[str]:
    if type(row["day"]) is not int or not 0 <= row["day"] < len(problem.days):
        yield f"{name} has a day that is not in the plan"


def _make_rules(problem: BenchProblem, make: Make, row: Mapping[str, Any]) -> Iterator[str]:
    yield from _day_rules(problem, row, make.name)
    parts = {one["bin"]: amount(one["weight"]) for one in row["from"]}
    weight, meat = amount(row["weight"]), total(parts.values())
    if len(parts) != len(row["from"]) or parts.keys() - set(make.bins):
        yield f"{make.name} takes from bins it may not, or twice from one"
        return
    if meat <= 0 or min(parts.values()) < 0 or abs(weight * (1 - make.added) - meat) > STEP:
        yield f"{make.name} weighs {float(weight)} made of {float(meat)} of trim"
        return
    fat = total(problem.bins[name].fat * part for name, part in parts.items()) / meat
    if make.fat_max is not None and fat > make.fat_max:
        yield f"{make.name} has {float(fat):.4f} fat, over {float(make.fat_max)}"
    if make.fat_min is not None and fat < make.fat_min:
        yield f"{make.name} has {float(fat):.4f} fat, under {float(make.fat_min)}"
    if abs(number(row["fat"]) - fat) > _FAT_TOLD:
        yield f"{make.name} tells {row['fat']} fat; it is {float(fat):.4f}"
