"""How many whole animals to order for a week, when nobody knows what it will sell.

Numbers first, then the week: for each week that may come, the animals are cut and the cuts sold as
well as that week allows; the order is the one that brings the most in the mean.

References
----------
.. [1] A whole animal is a newsvendor's order whose unit is many goods at once: with one cut, the
   best number is where the chance of selling one more falls to cost less salvage over price less
   salvage.  Two-stage programs with recourse: standard results, from memory; see docs/farmcall.md.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

from collop.bench.farm_ends import ends_json
from collop.bench.farm_plan import (
    bins_json,
    cuts_json,
    cutting_json,
    makes_json,
    money_json,
    promises_json,
    rounded,
    spread_json,
    weeks_json,
)
from collop.bench.farm_problem import Animal, Drawn
from collop.bench.farm_program import MOST_REACH, dearest
from collop.bench.farm_reading import read_farmcall
from collop.bench.farm_saying import Pen, order_sentence, usual_sentences
from collop.bench.farm_scenarios import scenarios_of
from collop.bench.farm_seasons import season_notes
from collop.bench.farm_solving import Answer, Neighbour, Weeks, best_order, refuse_too_large
from collop.bench.farm_tree import tree_of
from collop.bench.farm_weights import LEAST

__all__ = ["PLAN_ID", "farmcall"]

PLAN_ID = "collop.farmcall.plan/1"
#: An answer nearer than this to the best value still possible counts as the best.
PROVEN = Fraction(1, 10**6)
Json = dict[str, Any]


def farmcall(problem: object) -> Json:
    """Find how many animals to order; see `docs/farmcall.md`.

    Parameters
    ----------
    problem : object
        The ``collop.farmcall/1`` object.

    Returns
    -------
    dict
        The ``collop.farmcall.plan/1`` object: money and weights as decimal texts.

    Raises
    ------
    ProblemError
        If the problem cannot be read, or is too large.
    PlanRejected
        If no order could be worked out.
    """
    asked = read_farmcall(problem)
    pen, tree = Pen(asked), tree_of(asked)
    refuse_too_large(asked, tree)
    scenarios = scenarios_of(asked)
    outcome = best_order(asked, tree, scenarios)
    weeks = Weeks(asked, tree, scenarios)
    answer = weeks.answer(outcome)
    orders = _Orders(pen, answer, weeks)
    lines = orders.lines()
    return {
        "schema": PLAN_ID,
        "name": asked.name,
        "currency": asked.currency,
        "rounding": asked.rounding.value,
        "unit": asked.unit,
        "week_of": asked.week_of.isoformat(),
        "orders": lines,
        "expected": pen.money(answer.expected),
        "spread": spread_json(pen, answer, scenarios),
        "money": money_json(pen, answer),
        "cutting": cutting_json(asked, tree, answer.mean, pen),
        "cuts": cuts_json(pen, answer.mean),
        "bins": bins_json(pen, answer.mean),
        "makes": makes_json(pen, answer.mean),
        "ends": ends_json(pen, answer.mean),
        "standing": promises_json(pen, answer, standing=True),
        "bookings": promises_json(pen, answer, standing=False),
        "room": orders.room(),
        "worth": {one.id: pen.money(worth) for one, worth in orders.worths()},
        "scenarios": weeks_json(pen, answer, scenarios),
        "say": list(_say(pen, answer, lines)),
        "proof": _proof(pen, answer),
        "assumptions": list(_assumptions(pen, len(scenarios))),
    }


class _Orders:
    """The lines of the order, with what one more and one less would change."""

    def __init__(self, pen: Pen, answer: Answer, weeks: Weeks) -> None:
        self.pen, self.problem, self.answer, self._weeks = pen, pen.problem, answer, weeks
        self.here = weeks.neighbour(answer.counts)
        self.more = [self._step(at, 1) for at in range(len(answer.counts))]
        self.less = [self._step(at, -1) if count else None
                     for at, count in enumerate(answer.counts)]  # fmt: skip
        self.used = sum(
            (count * one.weight
             for count, one in zip(answer.counts, self.problem.animals, strict=True)), Fraction(0)
        )  # fmt: skip
        if self.problem.room is not None:
            self.used += self.problem.room.hanging

    def _step(self, at: int, by: int) -> Neighbour:
        counts = list(self.answer.counts)
        counts[at] += by
        there = self._weeks.neighbour(counts)
        return replace(
            there, money=there.money - self.here.money, short=there.short - self.here.short
        )

    def _fits(self, animal: Animal) -> bool:
        room = self.problem.room
        return room is None or self.used + animal.weight <= room.rail

    def lines(self) -> list[Json]:
        """Return one line an animal."""
        found = []
        for at, (animal, count) in enumerate(
            zip(self.problem.animals, self.answer.counts, strict=True)
        ):
            less = self.less[at]
            found.append(
                {
                    "id": animal.id,
                    "name": animal.name,
                    "count": count,
                    "weight": self.pen.weight(count * animal.weight),
                    "cost": self.pen.money(count * animal.cost),
                    "one_more": self._json(self.more[at], self._more_say(at, animal, count)),
                    "one_less": None if less is None
                    else self._json(less, self._less_say(less, animal, count)),
                }
            )  # fmt: skip
        return found

    def _json(self, step: Neighbour, say: str) -> Json:
        short = self.pen.weight(step.short)
        return {"money": self.pen.money(step.money), "short": short, "say": say}

    def _changes(self, step: Neighbour) -> str:
        way = "more" if step.money >= 0 else "less"
        said = f"{self.pen.money(abs(step.money))} {way} in a usual week"
        if abs(step.short) > LEAST:
            short = "more" if step.short > 0 else "less"
            said += f", and {self.pen.said(abs(step.short))} {short} is short of what is promised"
        return said

    def _more_say(self, at: int, animal: Animal, count: int) -> str:
        step = self.more[at]
        worth = step.money + animal.cost
        said = (
            f"One more costs {self.pen.money(animal.cost)} and brings {self.pen.money(worth)}: "
            f"{self._changes(step)}"
        )
        if count >= animal.most:
            said += f"; {animal.most} is the most that may be ordered"
        elif not self._fits(animal):
            said += "; the rail has no room for it"
        return f"{said}."

    def _less_say(self, step: Neighbour, animal: Animal, count: int) -> str:
        said = f"One less: {self._changes(step)}"
        if count <= animal.least:
            said += f"; {animal.least} is the least that must be ordered"
        return f"{said}."

    def worths(self) -> Iterator[tuple[Animal, Fraction]]:
        """Yield what one more of each animal would bring, before its price."""
        for animal, step in zip(self.problem.animals, self.more, strict=True):
            yield animal, step.money + animal.cost

    def room(self) -> Json | None:
        """Return the rail: what it holds, what would hang, and whether it stops a better order."""
        if self.problem.room is None:
            return None
        beside = dearest(self.problem)
        binds = any(
            step.money - beside * step.short > 0 and count < one.most and not self._fits(one)
            for one, step, count in zip(
                self.problem.animals, self.more, self.answer.counts, strict=True
            )
        )
        most = self.pen.weight(self.problem.room.rail)
        return {"most": most, "used": self.pen.weight(self.used), "binds": binds}


def _proof(pen: Pen, answer: Answer) -> Json:
    gap = (answer.bound - answer.objective) / max(Fraction(1), abs(answer.objective))
    return {
        "status": "optimal" if gap <= PROVEN else "gap",
        "gap": rounded(gap, 9),
        "objective": pen.money(answer.objective),
        "bound": pen.money(answer.bound),
    }


def _say(pen: Pen, answer: Answer, lines: Sequence[Json]) -> Iterator[str]:
    problem, mean = pen.problem, answer.mean
    yield order_sentence(problem, answer.counts)
    if any(answer.counts):
        weight = sum((Fraction(line["weight"]) for line in lines), Fraction(0))
        cost = mean.contribution - answer.expected
        yield f"They weigh {pen.said(weight)} and cost {pen.money(cost)} fetched."
    yield from usual_sentences(problem.animals, answer.counts)
    yield f"In a usual week that brings {pen.money(answer.expected)} over the animals and the work."
    for at, one in enumerate(problem.promises):
        short = one.weight - mean.promised[at]
        if short > LEAST:
            cut = problem.cuts[one.cut].name
            yield f"{one.name} will be short of {pen.said(short)} of {cut}: tell them now."
    over = max(problem.cuts.values(), key=lambda cut: mean.surplus[cut.id])
    if mean.surplus[over.id] > LEAST:
        yield f"{over.name} is what will be over: {pen.said(mean.surplus[over.id])}."


def _assumptions(pen: Pen, weeks: int) -> Iterator[str]:
    problem = pen.problem
    drawn = problem.scenarios
    if isinstance(drawn, Drawn):
        yield (
            f"{drawn.count} weeks that may come are drawn by chance, the same ones each time: the "
            "sale of a cut scatters about its usual week on its own, and by "
            f"{float(100 * drawn.common_cv):g} % together with all others."
        )
    yield (
        f"In each of the {weeks} weeks animals are cut and prices are set as if its sales were "
        "known when cutting; a real week shows them day by day and brings somewhat less."
    )
    yield "One more and one less are reckoned with the numbers of the other animals as they are."
    yield (
        "An animal of the week that is not cut, and what is not sold, brings no more than its "
        "salvage; nothing goes on to the week after."
    )
    if problem.promises:
        yield (
            "The usual week is of the counter; standing orders and bookings come beside it and are "
            f"served first: each {problem.unit} short counts as {pen.money(dearest(problem))}, the "
            "dearest price, beside its own. That is no money, and not in what is expected."
        )
    steepest = max(cut.steps[-1] ** -1 for cut in problem.cuts.values())
    if float(steepest) ** max(float(cut.elasticity) for cut in problem.cuts.values()) > MOST_REACH:
        yield f"No price step is taken to sell more than {MOST_REACH} times the usual week."
    yield from season_notes(problem)
    yield from problem.notes
