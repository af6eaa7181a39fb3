"""The same board the ordinary way: a root finder in floats, endings by an integer program."""

from __future__ import annotations

from typing import Any

import pulp
from scipy.optimize import brentq

__all__ = ["rebalance"]

_STEP = 0.05
_MOST_STEPS_AWAY = 2


def _prices(problem: dict[str, Any], base: float) -> list[float]:
    found = []
    for cut in problem["cuts"]:
        if "fixed" in cut:
            found.append(float(cut["fixed"]))
            continue
        price = base * float(cut["price"])
        low, high = float(cut.get("floor", 0)), float(cut.get("cap", "inf"))
        found.append(min(max(price, low), high))
    return found


def _needed(problem: dict[str, Any]) -> float:
    cost = problem["cost"]
    labour = float(cost["labour_minutes"]) / 60 * float(cost["labour_per_hour"])
    credit = sum(float(one["weight"]) * float(one["value_per_unit"]) for one in problem["credits"])
    whole = float(cost["bought"]) + float(cost["haulage"]) + labour - credit
    return whole / (1 - problem["margin"])


def rebalance(problem: dict[str, Any]) -> tuple[list[float], float]:
    """Return prices on endings, and what they bring over the sales needed.

    The base price is the root of sales less need; each price then goes to one of the endings at
    most two steps away, so that the sales are made with the least over them (CBC).
    """
    sells = [float(cut["weight"]) * (1 - cut["shrink"]) for cut in problem["cuts"]]
    needed = _needed(problem)

    def short(base: float) -> float:
        return sum(p * s for p, s in zip(_prices(problem, base), sells, strict=True)) - needed

    exact = _prices(problem, brentq(short, 0, 10))
    model = pulp.LpProblem("endings", pulp.LpMinimize)
    terms, chosen = [], []
    for at, (cut, price) in enumerate(zip(problem["cuts"], exact, strict=True)):
        if "fixed" in cut:
            terms.append(price * sells[at])
            chosen.append(None)
            continue
        near = round(price / _STEP)
        steps = range(near - _MOST_STEPS_AWAY, near + _MOST_STEPS_AWAY + 1)
        low, high = float(cut.get("floor", 0)), float(cut.get("cap", "inf"))
        endings = [step * _STEP for step in steps if low <= round(step * _STEP, 2) <= high]
        picks = [pulp.LpVariable(f"z{at}_{n}", cat="Binary") for n in range(len(endings))]
        model += pulp.lpSum(picks) == 1
        terms.append(sells[at] * pulp.lpSum(e * z for e, z in zip(endings, picks, strict=True)))
        chosen.append((endings, picks))
    sales = pulp.lpSum(terms)
    model += sales
    model += sales >= needed
    model.solve(pulp.PULP_CBC_CMD(msg=False, threads=1, gapAbs=0.01, timeLimit=20))
    found = []
    for choice, price in zip(chosen, exact, strict=True):
        if choice is None:
            found.append(price)
        else:
            endings, picks = choice
            found.append(sum(e * z.value() for e, z in zip(endings, picks, strict=True)))
    over = sum(p * s for p, s in zip(found, sells, strict=True)) - needed
    return found, over
