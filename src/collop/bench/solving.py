"""Bookings first, then money: the stages of a plan, its proof, and its shadow prices."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from collop.bench.model import Model, build
from collop.bench.problem import BenchProblem
from collop.bench.program import Hot, Outcome
from collop.bench.searching import SHORT, Search, searched
from collop.errors import BadValue, CollopError, Contradiction, PlanRejected

__all__ = ["Answer", "chosen_ways", "ordered", "solve"]

#: Columns times branches: what is not proven by then is told with its gap.
_WORK = 200_000
_LEAST_NODES = 40
#: The least shortage is looked for so many times as long.
_SHORT_NODES = 3
#: Columns of the largest program that is tried; a figure of ours, far over a shop's week.
MOST_COLUMNS = 20_000
#: Less than this is nothing short, in units of weight or shares of a piece.
_CRUMB = 1e-6
#: Columns of a cut on a day beside its price steps: on hand, ground, spoilt.
_OTHERS = 3
_EFFORT = 0.1
_AGREES = 1e-4


@dataclass(slots=True)
class Answer:
    """What was found.

    Parameters
    ----------
    model : Model
        The program it answers.
    values : list of float, shape (columns,)
        The best answer.
    chosen : tuple of int
        Ways taken.
    objective, bound : float
        Money of the plan before rounding, and the most any plan could bring.
    hot : Hot
        The program with its choices fixed; its duals are the shadow prices.
    duals : list of float, shape (rows,)
        Gain for one more unit on the right.
    """

    model: Model
    values: list[float]
    chosen: tuple[int, ...]
    objective: float
    bound: float
    hot: Hot
    duals: list[float]

    @property
    def gap(self) -> float:
        """Return how much better a plan could be, as a share."""
        return max(0.0, self.bound - self.objective) / max(1.0, abs(self.objective))


def ordered(problem: BenchProblem) -> BenchProblem:
    """Return the problem with its lists in the order of their ids: the order decides no tie."""
    return replace(
        problem,
        rail=tuple(sorted(problem.rail, key=lambda one: one.tag)),
        cuts={key: problem.cuts[key] for key in sorted(problem.cuts)},
        bins={key: problem.bins[key] for key in sorted(problem.bins)},
        kinds={
            key: replace(kind, styles=tuple(sorted(kind.styles, key=lambda one: one.id)))
            for key, kind in sorted(problem.kinds.items())
        },
        makes=tuple(sorted(problem.makes, key=lambda one: (one.cut, one.name, one.bins))),
        bookings=tuple(sorted(problem.bookings, key=lambda one: (one.due, one.id))),
        hands=tuple(sorted(problem.hands, key=lambda one: one.name)),
    )  # fmt: skip


def chosen_ways(model: Model, values: Sequence[float]) -> tuple[int, ...]:
    """Return the ways that an answer takes; none if there is no answer."""
    return tuple(way.index for way in model.ways if values and values[way.index] > 0.5)


def _before(model: Model) -> frozenset[int] | None:
    """Return the ways of the last plan that are still there, each with all that comes off it."""
    before = {(lock.tag, lock.style, lock.day) for lock in model.problem.before}
    if not before:
        return None
    taken: set[int] = set()
    settled: set[tuple[int | None, str]] = set()
    for likes in (before, None):
        for way in model.ways:
            place = (way.parent, way.node)
            is_wanted = likes is None or (way.node, way.style.id, way.day) in likes
            if place not in settled and is_wanted and (
                way.parent in taken if way.parent is not None else likes is not None
            ):  # fmt: skip
                taken.add(way.index)
                settled.add(place)
    return frozenset(taken)


def _fix(hot: Hot, model: Model, taken: Sequence[int]) -> None:
    chosen = set(taken)
    for way in model.ways:
        value = 1.0 if way.index in chosen else 0.0
        hot.bound(way.index, value, value)


def _short_money(model: Model, values: Sequence[float]) -> float:
    return -sum(gain * values[column] for column, gain in enumerate(model.short_cost()) if gain)


def _least_short(model: Model, search: Search) -> bool:
    """Allow nothing to be short but what has to be; tell whether something has."""
    program, gains = model.program, model.short_cost()
    columns = [column for column, gain in enumerate(gains) if gain]
    found = search.relaxed.values
    if not found or any(found[column] > _CRUMB for column in columns):
        return bool(columns)
    for column in columns:
        program.upper[column] = 0.0
    return False


def _near_enough(model: Model, search: Search) -> Outcome | None:
    """Return what the search found if the relaxed program shows that no plan is much better."""
    values, relaxed = search.values, search.relaxed
    if not values or _short_money(model, values) > _CRUMB:
        return None
    program = model.program
    money = program.constant + sum(g * v for g, v in zip(program.gains, values, strict=True))
    # what is short by a crumb weighs a thousand times itself there
    bound = program.constant + relaxed.objective + SHORT * _short_money(model, relaxed.values)
    if bound - money > float(model.problem.gap) * max(1.0, abs(money)):
        return None
    return Outcome("optimal", money, max(bound, money), values)


def solve(problem: BenchProblem) -> Answer:
    """Return the best plan: least short first, then most money."""
    _not_too_large(problem)
    model = build(problem)
    program = model.program
    search = searched(model, _before(model))
    outcome: Outcome | None = None
    uppers = list(program.upper)
    if not _least_short(model, search):
        outcome = _near_enough(model, search) or _most(model, search)
        if not outcome.values:  # whole pieces may fall short where parts of them would not
            program.upper[:] = uppers
    if outcome is None or not outcome.values:
        outcome = _after_shortage(model, search)
    return _answered(model, outcome)


def _not_too_large(problem: BenchProblem) -> None:
    """Refuse a program that would not come to an end while somebody waits."""
    each = (len(cut.steps) + _OTHERS for cut in problem.cuts.values())
    columns = len(problem.days) * sum(each)
    if columns > MOST_COLUMNS:
        raise BadValue(
            f"$.cuts has {len(problem.cuts)} cuts over {len(problem.days)} days, which is more than"
            " can be planned at once; plan fewer days, or leave out cuts that nothing gives.",
            where="$.cuts",
        )


def _most(model: Model, search: Search, allowed: float = 0.0) -> Outcome:
    """Ask for the most money, from what the search found if it is not shorter than allowed."""
    start: list[float] | None = search.values
    if not start or _short_money(model, start) > allowed + _CRUMB:
        start = None
    return model.program.solve(gap=float(model.problem.gap), nodes=_nodes(model), start=start,
                               effort=_EFFORT)  # fmt: skip


def _nodes(model: Model) -> int:
    """Return how many branches may be looked at: the larger the program, the fewer."""
    return max(_LEAST_NODES, _WORK // max(1, len(model.program.gains)))


def _after_shortage(model: Model, search: Search) -> Outcome:
    """Find the least shortage, hold every plan to it, then ask for the most money."""
    program, gains = model.program, model.short_cost()
    least = program.solve(gap=0.0, nodes=_SHORT_NODES * _nodes(model), gains=gains,
                          start=search.values or None, effort=_EFFORT)  # fmt: skip
    if not least.values:
        return least
    model.least_is_proven = least.status == "optimal"
    money = max(0.0, -least.objective)
    if not search.values or _short_money(model, search.values) > money + _CRUMB:
        search = searched(model, frozenset(chosen_ways(model, least.values)))
    terms = {column: -gain for column, gain in enumerate(gains) if gain}
    room = max(_CRUMB, 1e-7 * money)
    model.cap = program.row(terms, high=money + room)
    for column, cost in terms.items():
        program.upper[column] = min(program.upper[column], (money + room) / cost)
    return _most(model, search, money + room)


def _answered(model: Model, outcome: Outcome) -> Answer:
    """Return the answer with its choices fixed, and the shadow prices around it.

    What is short may become less, not more: the row that held all shortage to the least has no part
    in what a pound more is worth.
    """
    if not outcome.values:
        raise _no_plan(model, outcome)
    chosen = chosen_ways(model, outcome.values)
    hot = Hot(model.program)
    _fix(hot, model, chosen)
    for column, gain in enumerate(model.short_cost()):
        if gain:
            hot.bound(column, 0.0, max(0.0, outcome.values[column]))
    if model.cap is not None:
        hot.sides(model.cap, -math.inf, math.inf)
    fixed = hot.solve()
    short_of = outcome.objective - _AGREES * max(1.0, abs(outcome.objective))
    if not fixed.values or fixed.objective < short_of:
        raise PlanRejected(
            "The plan did not pass its own check; settle one piece's style and day, and plan again."
        )
    bound = outcome.bound
    if not math.isfinite(bound):
        bound = Hot(model.program).solve().objective
    return Answer(
        model, fixed.values, chosen, fixed.objective, max(bound, fixed.objective), hot,
        fixed.duals,
    )  # fmt: skip


def _no_plan(model: Model, outcome: Outcome) -> CollopError:
    """Return why there is no plan: only what is settled can stand in the way of one."""
    if model.problem.locks and outcome.status == "infeasible":
        return Contradiction(
            "What is settled cannot all be done: there are too few minutes at the bench on those"
            " days. Take one of the settled pieces back.", where="$.locks",
        )  # fmt: skip
    return PlanRejected("No plan was found within the work allowed; ask for fewer days or pieces.")
