"""Quality against money: the best eating for each sum, and what a little more would buy."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from collop.measures import Money, minor_places
from collop.spread.aims import eating_of, eating_vector, eating_worth, money_vector, total_money
from collop.spread.need import planned_meals
from collop.spread.picks import Pick
from collop.spread.plan import CurvePoint
from collop.spread.setting import Setting

__all__ = ["MORE_MONEY", "more_money", "most_eating_costs", "quality_curve"]

#: Where on the way from the least money to the best eating the curve is drawn.
_STOPS = (Fraction(1, 12), Fraction(1, 5), Fraction(2, 5), Fraction(2, 3))
#: Points closer than this in eating are one point.
_STEP = Fraction(1, 200)
MORE_MONEY = 20
#: Money still counts a little when eating is all: no pound is dearer than it need be.
_THRIFT = 0.02


def most_eating_costs(setting: Setting) -> dict[int, float]:
    """Return the costs of the aim to eat best, thrift aside: cost per column [minor units]."""
    options = setting.solver.model.options
    worth = eating_worth(setting.problem, options)
    vector = [
        worth * missed + _THRIFT * money
        for missed, money in zip(eating_vector(options), money_vector(options), strict=True)
    ]
    return setting.solver.model.per_pound(vector)


def _most_eating(setting: Setting, costs: dict[int, float], budget: int | None) -> tuple[Pick, ...]:
    """Return the spread that eats best within a budget [minor units]."""
    solver = setting.solver
    worth = eating_worth(setting.problem, solver.model.options)
    meals = float(planned_meals(setting.problem))
    _, picks = solver.solve(
        costs, budget=budget, abs_gap=worth * meals * float(_STEP) / 2, rough=True
    )
    return picks


def _point(setting: Setting, picks: Sequence[Pick]) -> CurvePoint:
    problem = setting.problem
    return CurvePoint(total_money(problem, picks), eating_of(picks, planned_meals(problem)))


def quality_curve(setting: Setting) -> tuple[CurvePoint, ...]:
    """Return ascending points from the least money to the best eating, whatever the budget."""
    first = _point(setting, setting.cheapest.picks)
    points, costs = [first], most_eating_costs(setting)
    last = _most_eating(setting, costs, None)
    if last:
        top = _point(setting, last)
        room = top.total.minor - first.total.minor
        for stop in _STOPS:
            picks = _most_eating(setting, costs, first.total.minor + int(stop * room))
            if picks:
                points.append(_point(setting, picks))
        points.append(top)
    rising: list[CurvePoint] = []
    for point in sorted(points, key=lambda p: (p.total.minor, -p.eating)):
        if not rising or point.eating >= rising[-1].eating + _STEP:
            rising.append(point)
    return tuple(rising)


def more_money(setting: Setting) -> dict[str, Any] | None:
    """Return what `MORE_MONEY` more would buy: the best eating now and then, and what changes."""
    problem = setting.problem
    if problem.budget is None:
        return None
    more = MORE_MONEY * 10 ** minor_places(problem.currency)
    costs = most_eating_costs(setting)
    now = _most_eating(setting, costs, problem.budget.minor)
    then = _most_eating(setting, costs, problem.budget.minor + more)
    if not now or not then:
        return None
    before, after = _point(setting, now), _point(setting, then)
    return {
        "by": str(Money(more, problem.currency)),
        "total": str(after.total),
        "eating": round(float(after.eating), 3),
        "buys": _difference(now, then, before, after),
    }


def _difference(
    now: Sequence[Pick], then: Sequence[Pick], before: CurvePoint, after: CurvePoint
) -> str:
    was, becomes = (round(100 * float(point.eating)) for point in (before, after))
    if becomes <= was:
        return "Nothing that eats better by a point of 100."
    old = {p.option.offer.id: p for p in now}
    grown = [
        (p.pounds - (old[p.option.offer.id].pounds if p.option.offer.id in old else 0), p)
        for p in then
    ]
    up, pick = max(grown, key=lambda pair: pair[0])
    return (
        f"Eating rises from {was} to {becomes} of 100: "
        f"{float(up):.1f} lb more of {pick.option.offer.name}."
    )
