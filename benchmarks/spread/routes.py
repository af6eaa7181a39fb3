"""Two other routes to the same optimum, through PuLP and CBC.

*compact* hands the rows of our own program over as they are.  *straightforward* is the model that
first comes to mind: an amount x[o, g] of each option for each group that may eat it, every group's
need met from its own amounts, whole steps n[o] with n >= sum of x, a use z[o], and the plain rows
for shares.  Both keep all other rows: slots, styles, fire, plenty, budget, number of items.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterable, Mapping

import pulp

from collop.spread.diet import may_eat
from collop.spread.model import SpreadModel
from collop.spread.problem import SpreadProblem
from collop.spread.program import Program, Row

__all__ = ["cbc", "compact", "straightforward"]


def compact(program: Program, costs: Mapping[int, float], extra: Iterable[Row]) -> pulp.LpProblem:
    """Return our own program for PuLP."""
    problem, columns = _columns(program, costs)
    for row in [*program.rows, *extra]:
        _add(problem, columns, row)
    return problem


def straightforward(
    ask: SpreadProblem, model: SpreadModel, costs: Mapping[int, float], extra: Iterable[Row]
) -> pulp.LpProblem:
    """Return the model with an amount of each option for each group.

    The needs add up group by group only without a spread of appetites: `ask.appetite_cv` is 0.
    """
    problem, columns = _columns(model.program, costs)
    for row in [*model.program.rows, *extra]:
        if not row.name.startswith(("need.", "share.")):
            _add(problem, columns, row)
    _feed_groups(problem, columns, ask, model)
    share = float(ask.rules.max_share)
    by_offer: dict[str, list[pulp.LpAffineExpression]] = {}
    for option, ounces in zip(model.options, model.ounces, strict=True):
        by_offer.setdefault(option.offer.id, []).append(_sum(columns, ounces.items()))
    for terms in by_offer.values():
        problem += pulp.lpSum(terms) <= share * columns[model.total]
    return problem


def _feed_groups(
    problem: pulp.LpProblem,
    columns: list[pulp.LpVariable],
    ask: SpreadProblem,
    model: SpreadModel,
) -> None:
    groups = [group for group in ask.groups if group.count]
    eaten: list[list[pulp.LpVariable]] = [[] for _ in groups]
    for index, (option, meals) in enumerate(zip(model.options, model.meals, strict=True)):
        given = []
        for number, group in enumerate(groups):
            if may_eat(group, option.offer):
                amount = pulp.LpVariable(f"x{index}_{number}", 0)
                eaten[number].append(amount)
                given.append(amount)
        problem += pulp.lpSum(given) <= _sum(columns, meals.items())
    for group, amounts in zip(groups, eaten, strict=True):
        problem += pulp.lpSum(amounts) >= float(group.meals)


def cbc(problem: pulp.LpProblem, *, abs_gap: float, limit_s: float) -> tuple[str, float]:
    """Solve on one thread without a relative gap; return (``optimal`` or ``limit``, value)."""
    solver = pulp.PULP_CBC_CMD(msg=False, threads=1, gapRel=0.0, gapAbs=abs_gap, timeLimit=limit_s)
    problem.solve(solver)
    value = pulp.value(problem.objective)
    proven = problem.sol_status == pulp.LpSolutionOptimal
    return ("optimal" if proven else "limit"), math.inf if value is None else float(value)


def _columns(
    program: Program, costs: Mapping[int, float]
) -> tuple[pulp.LpProblem, list[pulp.LpVariable]]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        problem = pulp.LpProblem("spread", pulp.LpMinimize)
    columns = [
        pulp.LpVariable(
            f"c{index}",
            low,
            None if high == math.inf else high,
            cat=pulp.LpInteger if whole else pulp.LpContinuous,
        )
        for index, (low, high, whole) in enumerate(
            zip(program.lower, program.upper, program.whole, strict=True)
        )
    ]
    problem += _sum(columns, costs.items())
    return problem, columns


def _sum(
    columns: list[pulp.LpVariable], terms: Iterable[tuple[int, float]]
) -> pulp.LpAffineExpression:
    return pulp.LpAffineExpression((columns[column], value) for column, value in terms)


def _add(problem: pulp.LpProblem, columns: list[pulp.LpVariable], row: Row) -> None:
    total = _sum(columns, row.terms)
    if row.low == row.high:
        problem += total == row.low
        return
    if row.low > -math.inf:
        problem += total >= row.low
    if row.high < math.inf:
        problem += total <= row.high
