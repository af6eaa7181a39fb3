"""Money: each part recomputed exactly and rounded once; the parts add up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from collop.bench.checker_breaks import Broken
from collop.bench.checker_parts import amount, by_key, number, rounded, total
from collop.bench.checker_trim import make_of
from collop.bench.problem import BenchProblem

__all__ = ["money_rules"]

_HOUR = 60
_TOLD = Fraction(1, 200)  # half of a hundredth of a minute
_COSTS = ("labour", "overtime", "making")


def money_rules(problem: BenchProblem, broken: Broken, plan: Mapping[str, Any]) -> Iterator[str]:
    """Yield each part of the money that is not what the plan's own weights bring."""
    exact = {
        "bookings": _bookings(problem, plan),
        "sales": _sales(problem, plan),
        "by_products": _by_products(broken),
        "bins": total(problem.bins[row["id"]].worth * amount(row["sold"]) for row in plan["bins"]),
        "salvage": _salvage(problem, plan),
        "left": _left(problem, plan),
        "kept": _kept(problem, plan),
        "labour": _hours(problem, plan, "used"),
        "overtime": _hours(problem, plan, "overtime"),
        "making": _making(problem, plan),
    }
    told = {key: amount(plan["money"][key]) for key in plan["money"]}
    if told.keys() != exact.keys():
        yield "the parts of the money are not those that are told of a plan"
        return
    slack = dict.fromkeys(exact, Fraction(0)) | _untold(problem)
    for key, value in exact.items():
        low, high = (rounded(value + sign * slack[key], problem.currency, problem.rounding)
                     for sign in (-1, 1))  # fmt: skip
        if not low <= told[key] <= high:
            yield f"{key} brings {float(low)}, not {plan['money'][key]}"
    brings = total(-value if key in _COSTS else value for key, value in told.items())
    if amount(plan["contribution"]) != brings:
        yield f"the parts add up to {float(brings)}, not {plan['contribution']}"


def _bookings(problem: BenchProblem, plan: Mapping[str, Any]) -> Fraction:
    told = by_key(plan["bookings"], "id")
    return total(
        line.price * amount(row["met"])
        for booking in problem.bookings
        for line, row in zip(booking.lines, told[booking.id]["lines"], strict=True)
    )


def _sales(problem: BenchProblem, plan: Mapping[str, Any]) -> Fraction:
    return total(
        problem.cuts[row["id"]].price * amount(one["step"]) * amount(one["weight"])
        for row in plan["cuts"]
        for day in row["days"]
        for one in day["at"]
    )


def _by_products(broken: Broken) -> Fraction:
    return total(
        output.worth * (weight - claimed)
        for one in broken.breaks.values()
        for output, weight, claimed in one.parts()
        if output.to == "worth"
    )


def _sound(problem: BenchProblem, row: Mapping[str, Any]) -> Fraction:
    """Return how much of what is left fetches its worth at the end."""
    takes, left = problem.cuts[row["id"]].left.takes, amount(row["left"])
    return left if takes is None else min(left, takes)


def _salvage(problem: BenchProblem, plan: Mapping[str, Any]) -> Fraction:
    return total(problem.cuts[row["id"]].salvage * amount(row["spoilt"]) for row in plan["cuts"])


def _left(problem: BenchProblem, plan: Mapping[str, Any]) -> Fraction:
    """Return what the sound rest brings: its worth up to `takes`, salvage if that is more."""
    brings = Fraction(0)
    for row in plan["cuts"]:
        cut = problem.cuts[row["id"]]
        sound, takes = amount(row["left"]), cut.left.takes
        taken = sound if takes is None else min(sound, takes)
        brings += max(cut.left.worth, cut.salvage) * taken + cut.salvage * (sound - taken)
    return brings


def _kept(problem: BenchProblem, plan: Mapping[str, Any]) -> Fraction:
    kept = {row["tag"] for row in plan["kept"]}
    return total(
        piece.worth_left * (1 - piece.claimed) for piece in problem.rail if piece.tag in kept
    )


def _hours(problem: BenchProblem, plan: Mapping[str, Any], key: str) -> Fraction:
    told = by_key(plan["hands"], "name")
    return total(
        number(minutes) * (hand.per_hour if key == "used" else hand.overtime_per_hour) / _HOUR
        for hand in problem.hands
        for minutes in told[hand.name][key]
    )


def _untold(problem: BenchProblem) -> dict[str, Fraction]:
    """Return the money in what minutes lose when they are told to two places."""
    lost = _TOLD * len(problem.days) / _HOUR
    return {
        "labour": lost * total(hand.per_hour for hand in problem.hands),
        "overtime": lost * total(hand.overtime_per_hour for hand in problem.hands),
    }


def _making(problem: BenchProblem, plan: Mapping[str, Any]) -> Fraction:
    spent = Fraction(0)
    for row in plan["makes"]:
        make = make_of(problem, row)
        if make is not None:
            per_unit = make.added * make.added_cost + make.cost_per_unit
            spent += amount(row["weight"]) * per_unit
    return spent
