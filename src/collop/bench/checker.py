"""The independent check of a cutting plan: every rule again, in exact arithmetic, without a solver.

Everything is recomputed from the problem and from the bare decisions of the plan (what is broken
how and when, what is made, ground, sold, promised).  Nothing of the model is used.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from collop.bench.checker_breaks import Broken, break_rules, claim_rules, kept_rules, lock_rules
from collop.bench.checker_hands import hand_rules
from collop.bench.checker_money import money_rules
from collop.bench.checker_parts import amount, by_key
from collop.bench.checker_promises import promise_rules, short_rules
from collop.bench.checker_stock import stock_rules
from collop.bench.checker_trim import trim_rules
from collop.bench.problem import BenchProblem

__all__ = ["check_plan"]


def check_plan(problem: BenchProblem, plan: Mapping[str, Any]) -> list[str]:
    """Return each broken rule in words; an empty list means the plan is sound.

    Parameters
    ----------
    problem : BenchProblem
        What was asked; weights in its unit, money in its currency.
    plan : mapping
        A ``collop.bench.plan/1``.

    Returns
    -------
    list of str
        One sentence for each broken rule; a plan that cannot be read is one as well.
    """
    try:
        return list(_rules(problem, plan))
    except (KeyError, TypeError, ValueError, AttributeError, IndexError) as error:
        return [f"the plan cannot be read: {type(error).__name__} {error}"[:200]]


def _rules(problem: BenchProblem, plan: Mapping[str, Any]) -> Iterator[str]:
    amiss = list(_frame_rules(problem, plan))
    yield from amiss
    if amiss:  # nothing below could be told apart
        return
    broken = Broken.of(problem, plan["breaks"])
    yield from break_rules(problem, broken)
    yield from kept_rules(problem, broken, plan)
    yield from lock_rules(problem, broken)
    yield from claim_rules(problem, broken, plan)
    yield from trim_rules(problem, plan)
    yield from stock_rules(problem, broken, plan)
    yield from promise_rules(problem, plan)
    yield from short_rules(problem, plan)
    yield from hand_rules(problem, plan)
    yield from money_rules(problem, broken, plan)


def _frame_rules(problem: BenchProblem, plan: Mapping[str, Any]) -> Iterator[str]:
    if plan["schema"] != "collop.bench.plan/1":
        yield f"the schema is {plan['schema']!r}"
    if plan["days"] != [day.date.isoformat() for day in problem.days]:
        yield "the days are not those that were asked"
    asked = (problem.name, problem.currency, str(problem.rounding), problem.unit)
    if tuple(plan[key] for key in ("name", "currency", "rounding", "unit")) != asked:
        yield "name, currency, rounding or unit is not what was asked"
    lists = {
        "cuts": ("id", set(problem.cuts)),
        "bins": ("id", set(problem.bins)),
        "hands": ("name", {hand.name for hand in problem.hands}),
        "bookings": ("id", {booking.id for booking in problem.bookings}),
    }
    for key, (label, known) in lists.items():
        if set(by_key(plan[key], label)) != known or len(plan[key]) != len(known):
            yield f"the {key} are not those that were asked, each once"
    told = by_key(plan["bookings"], "id")
    for booking in problem.bookings:
        lines = told[booking.id]["lines"] if booking.id in told else []
        asked_lines = [(line.cut, line.weight) for line in booking.lines]
        if [(line["cut"], amount(line["weight"])) for line in lines] != asked_lines:
            yield f"the lines of {booking.id} are not those that were asked"
