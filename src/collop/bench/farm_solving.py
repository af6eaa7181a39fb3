"""How many to order: the whole program at once, and the weeks one by one at given numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from collop.bench.farm_problem import Drawn, FarmProblem, Scenario
from collop.bench.farm_program import Week, add_week, dearest, size_of
from collop.bench.farm_tree import Tree
from collop.bench.farm_weights import Account, account_of, mean_of, short_weight
from collop.bench.program import Hot, Outcome, Program
from collop.errors import PlanRejected, ProblemError

__all__ = ["MOST_COLUMNS", "Answer", "Neighbour", "Weeks", "best_order", "refuse_too_large"]

#: Most columns of the whole program: past it an answer would take minutes.
MOST_COLUMNS = 150_000
_GAP = 1e-7
_NODES = 2_000
_PLACES = 6


@dataclass(frozen=True, slots=True)
class Neighbour:
    """What another number of animals would bring: money less their price, and what is short."""

    money: Fraction
    short: Fraction


@dataclass(frozen=True, slots=True)
class Answer:
    """The order, its weeks, and the best value still possible (shortage counted)."""

    counts: tuple[int, ...]
    weeks: tuple[Account, ...]
    mean: Account
    expected: Fraction
    objective: Fraction
    bound: Fraction


def refuse_too_large(problem: FarmProblem, tree: Tree) -> None:
    """Refuse a call that would take too long; raises `ProblemError`."""
    drawn = problem.scenarios
    scenarios = drawn.count if isinstance(drawn, Drawn) else len(drawn)
    if size_of(problem, tree) * scenarios > MOST_COLUMNS:
        raise ProblemError(
            f"$.scenarios: {scenarios} weeks of this many cuts and ways are more than can be "
            "reckoned; give fewer weeks, or fewer cuts and ways.",
            where="$.scenarios",
        )


def best_order(problem: FarmProblem, tree: Tree, scenarios: Sequence[Scenario]) -> Outcome:
    """Return what the solver says of the whole program; its first columns are the animals.

    Raises
    ------
    PlanRejected
        If no order was found.
    """
    program = Program()
    counts = _count_columns(program, problem, whole=True)
    if problem.room is not None:
        weights = {c: float(one.weight) for c, one in zip(counts, problem.animals, strict=True)}
        program.row(weights, high=float(problem.room.rail - problem.room.hanging))
    for scenario in scenarios:
        # money of a mean week times the number of weeks, so that no figure is too small to see
        scale = float(scenario.chance * len(scenarios))
        add_week(program, problem, tree, counts, scenario, scale=scale)
    for column, animal in zip(counts, problem.animals, strict=True):
        program.gains[column] = -float(animal.cost) * len(scenarios)
    outcome = program.solve(gap=_GAP, nodes=_NODES)
    if not outcome.values:
        raise PlanRejected("No order could be worked out; check weights and prices for a slip.")
    return outcome


def _count_columns(program: Program, problem: FarmProblem, *, whole: bool) -> list[int]:
    found = [program.column(0.0, most=float(one.most), whole=whole) for one in problem.animals]
    for column, animal in zip(found, problem.animals, strict=True):
        program.lower[column] = float(animal.least)
    return found


class Weeks:
    """Every week at given numbers of animals, each solved from the last.

    Parameters
    ----------
    problem : FarmProblem
    tree : Tree
    scenarios : sequence of Scenario
    """

    def __init__(self, problem: FarmProblem, tree: Tree, scenarios: Sequence[Scenario]) -> None:
        self.problem, self.tree, self.scenarios = problem, tree, tuple(scenarios)
        program = Program()
        self._counts = _count_columns(program, problem, whole=False)
        self._week: Week = add_week(
            program, problem, tree, self._counts, self.scenarios[0], scale=1.0
        )
        self._hot = Hot(program)

    def _outcomes(self, counts: Sequence[int]) -> Iterator[tuple[Scenario, Outcome]]:
        for column, count in zip(self._counts, counts, strict=True):
            self._hot.bound(column, float(count), float(count))
        for scenario in self.scenarios:
            for cut, row in self._week.ladders.items():
                self._hot.sides(row, float("-inf"), float(scenario.wants[cut]))
            outcome = self._hot.solve()
            if outcome.status != "optimal":
                raise PlanRejected("A week could not be worked out; check the figures for a slip.")
            yield scenario, outcome

    def accounts(self, counts: Sequence[int]) -> tuple[Account, ...]:
        """Return each week exactly, at these numbers of animals.

        Raises
        ------
        PlanRejected
            If a week could not be worked out.
        """
        return tuple(
            account_of(self.problem, self.tree, counts, scenario, (self._week, outcome.values))
            for scenario, outcome in self._outcomes(counts)
        )

    def neighbour(self, counts: Sequence[int]) -> Neighbour:
        """Return the money and the shortage at these numbers of animals, to a millionth."""
        value = short = 0.0
        for scenario, outcome in self._outcomes(counts):
            chance = float(scenario.chance)
            served = sum(outcome.values[column] for column in self._week.promised)
            short -= chance * served
            value += chance * outcome.objective
        asked = sum((one.weight for one in self.problem.promises), Fraction(0))
        missing = asked + round(Fraction(short), _PLACES)
        money = round(Fraction(value), _PLACES) + self._constant() + dearest(self.problem) * missing
        return Neighbour(money - _price(self.problem, counts), missing)

    def answer(self, outcome: Outcome) -> Answer:
        """Return the order that the whole program found, its weeks worked out exactly."""
        counts = tuple(round(outcome.values[column]) for column in self._counts)
        weeks = self.accounts(counts)
        mean = mean_of(weeks, [one.chance for one in self.scenarios])
        expected = mean.contribution - _price(self.problem, counts)
        beside = dearest(self.problem)
        objective = expected - beside * sum(short_weight(self.problem, mean).values(), Fraction(0))
        bound = Fraction(outcome.bound) / len(self.scenarios) + self._constant()
        return Answer(counts, weeks, mean, expected, objective, max(bound, objective))

    def _constant(self) -> Fraction:
        """Return what the program leaves out: pieces that hang, and shortage of all promised."""
        kept = sum((one.worth_left for one in self.problem.hanging), Fraction(0))
        asked = sum((one.weight for one in self.problem.promises), Fraction(0))
        return kept - dearest(self.problem) * asked


def _price(problem: FarmProblem, counts: Sequence[int]) -> Fraction:
    return sum(
        (count * one.cost for count, one in zip(counts, problem.animals, strict=True)), Fraction(0)
    )
