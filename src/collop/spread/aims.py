"""The named aims, and the alternatives that really differ.

All aims are minimised, in minor units of money.  With price p, eating score e (0-1), meals m, and
help h (board price less shadow price) of a line, and V the worth of one point of eating in one
meal (see `eating_worth`, times the setting ``eating``):

    least-money       sum p
    best-value        sum money*p + V (1-e) m + leftover*V m/2 - animal*h/4
    showpiece         best-value at a quarter of the money, with centre cuts, whole or carved to
                      share, for at least two fifths of the food
    variety           best-value with no cut over a quarter and no animal over two fifths of the
                      food (35 and 60 hundredths, where that cannot be had)
    helps-the-animal  a fifth of best-value, less h

The term V (1-e) m counts eating only up to the need: more food than needed never makes a spread
better.  Each aim after best value and least money must really differ from every earlier answer:
at most half of its meat is of that answer's cuts (three quarters, where half cannot be had),
pinned lines aside.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import partial

from collop.measures import Money, sum_money
from collop.spread.firing import Hearth
from collop.spread.model import SpreadModel
from collop.spread.need import mean_and_sd
from collop.spread.options import Option
from collop.spread.picks import Pick
from collop.spread.problem import SpreadProblem
from collop.spread.program import Outcome, Row, make_row
from collop.spread.proving import prove
from collop.spread.refusals import MOST_REFUSALS, refusal_row

__all__ = [
    "Answer",
    "Solver",
    "cost_vector",
    "eating_of",
    "eating_vector",
    "eating_worth",
    "money_vector",
    "shared_meat",
    "total_money",
]

_INF = float("inf")
#: Half a cent: two spreads closer than this are equally good for an aim.
ABS_GAP = 0.5
#: Most of the food that may come from the cuts of an earlier answer; the second is tried when
#: the first cannot be met.
SHARED = (0.5, 0.75)
_CENTRE_SHARE = 0.4


@dataclass(frozen=True, slots=True)
class Answer:
    """A solved aim: its lines, its proof, and which earlier aims it had to differ from."""

    aim: str
    picks: tuple[Pick, ...]
    status: str
    gap: float
    shared: float = 1.0
    apart_from: tuple[str, ...] = ()


def eating_worth(problem: SpreadProblem, options: Sequence[Option]) -> float:
    """Return what one point of eating in one meal is worth [minor units].

    Four times the money the customer named for a meal, so that a tenth more eating is worth two
    fifths of it; without a budget, five times the median cost of a meal on offer.
    """
    if problem.budget is not None and problem.budget.minor:
        mean, _ = mean_and_sd(problem.groups, problem.appetite_cv)
        return 4 * problem.budget.minor / float(mean)
    return 5 * statistics.median(float(o.cents_per_lb / o.meals_per_lb) for o in options)


def money_vector(options: Sequence[Option]) -> list[float]:
    """Return money per pound [minor units/lb]."""
    return [float(option.cents_per_lb) for option in options]


def eating_vector(options: Sequence[Option]) -> list[float]:
    """Return the eating missed per pound [meals/lb]."""
    return [float((1 - option.eating) * option.meals_per_lb) for option in options]


def cost_vector(problem: SpreadProblem, options: Sequence[Option], *, money: float) -> list[float]:
    """Return the best-value cost per pound of each option, with money weighted by `money`."""
    worth, weights = eating_worth(problem, options), problem.weights
    return [
        money * float(weights.money * o.cents_per_lb)
        + worth * float(o.meals_per_lb) * float(weights.eating * (1 - o.eating))
        + worth * float(o.meals_per_lb) * float(weights.leftover) / 2
        - float(weights.animal * o.help_per_lb) / 4
        for o in options
    ]


def eating_of(picks: Sequence[Pick], planned_meals: Fraction) -> Fraction:
    """Return the eating score of a spread: 1 less the eating missed per planned meal.

    Equals the mean score weighted by meals when the spread has just the planned meals; food
    beyond them does not raise it.
    """
    missed = sum(((1 - p.option.eating) * p.meals for p in picks), Fraction(0))
    return max(Fraction(0), 1 - missed / planned_meals)


@dataclass(slots=True)
class Solver:
    """Solves aims over one model, with an optional budget [minor units].

    Attributes
    ----------
    hearth : Hearth or None
        If given, aims are answered only by what it can cook.
    cuts : list of Row
        Rows learned from it; no spread that can be cooked breaks one.
    """

    problem: SpreadProblem
    model: SpreadModel
    budget: int | None = None
    answers: list[Answer] = field(default_factory=list)
    hearth: Hearth | None = None
    cuts: list[Row] = field(default_factory=list)

    def solve(
        self,
        costs: dict[int, float],
        *,
        budget: int | None,
        extra: Sequence[Row] = (),
        abs_gap: float = ABS_GAP,
        rough: bool = False,
    ) -> tuple[Outcome, tuple[Pick, ...]]:
        """Solve one aim; the total of rounded lines never passes the budget [minor units].

        With `rough` the answer is good to about `abs_gap` and not proven.

        Lines are rounded to the minor unit one by one, which can lift a total by a few units over
        the exact sum; then the money row is drawn in by as much and the aim solved again.
        """
        start: Mapping[int, float] | None = None
        for tighter in range(4):
            rows = [*self.cuts, *extra]
            if budget is not None:
                money = self.model.per_pound(money_vector(self.model.options))
                rows.append(make_row("budget", money, 0, budget - tighter))
            outcome = prove(
                self.model.program,
                self.model.gates,
                costs,
                extra=rows,
                abs_gap=abs_gap,
                rough=rough,
                start=start,
            )
            if outcome.status == "infeasible":
                return outcome, ()
            picks = self.model.picks(outcome.values)
            if budget is None or total_money(self.problem, picks).minor <= budget:
                return outcome, picks
            start = outcome.values
        return Outcome("infeasible"), ()

    def aim(self, name: str, *, apart: bool) -> Answer | None:
        """Solve a named aim, differing from the earlier answers if `apart`; None if it cannot."""
        for shared in SHARED if apart and self.answers else (1.0,):
            rows = [self._apart(a, shared) for a in self.answers if shared < 1]
            for costs, extra in self._recipes(name):
                outcome, picks = self._cooked(costs, [*extra, *rows])
                if picks:
                    answer = Answer(
                        name,
                        picks,
                        outcome.status,
                        outcome.gap if outcome.status == "limit" else 0.0,
                        shared,
                        tuple(a.aim for a in self.answers) if shared < 1 else (),
                    )
                    self.answers.append(answer)
                    return answer
        return None

    def _cooked(
        self, costs: dict[int, float], rows: Sequence[Row]
    ) -> tuple[Outcome, tuple[Pick, ...]]:
        """Solve an aim until the fire can cook the answer; see `collop.spread.refusals`."""
        own: list[Row] = []
        bound: float | None = None
        for _ in range(MOST_REFUSALS + 1):
            outcome, picks = self.solve(costs, budget=self.budget, extra=[*rows, *own])
            if not picks or self.hearth is None or self.hearth.can_cook(picks):
                if bound is not None:
                    least = min(bound, outcome.bound)
                    outcome = replace(outcome, status="limit", bound=least)
                return outcome, picks
            name = f"refused.{len(self.cuts)}.{len(own)}"
            row, is_sure = refusal_row(self.hearth, self.model, picks, name)
            if is_sure:
                self.cuts.append(row)
                continue
            own += self.model.beside if not own and self.model.beside else [row]
            if bound is None:  # what these rows may take away is at most this good
                bound = outcome.bound
        return Outcome("infeasible"), ()

    def _apart(self, earlier: Answer, shared: float) -> Row:
        """Return the row: at most `shared` of the meat is of the earlier answer's cuts.

        What is pinned, and what is for those who eat no meat, is the same in every spread, so it
        is not counted on either side; a table without meat is measured by all its food.
        """
        pinned = {pin.offer_id for pin in self.problem.pinned}
        lines = [p.option.offer for p in earlier.picks if p.option.offer.id not in pinned]
        meat = any(not offer.is_meat_free for offer in lines)
        cuts = {offer.id for offer in lines if not (meat and offer.is_meat_free)}
        own = self._ounces(lambda option: option.offer.id in cuts)
        whole = self._ounces(
            lambda option: (
                option.offer.id not in pinned and not (meat and option.offer.is_meat_free)
            )
        )
        terms = {column: own.get(column, 0.0) - shared * oz for column, oz in whole.items()}
        return make_row(f"apart.{earlier.aim}", terms, -_INF, 0)

    def _ounces(self, wanted: Callable[[Option], bool]) -> dict[int, float]:
        terms: dict[int, float] = {}
        for option, ounces in zip(self.model.options, self.model.ounces, strict=True):
            if wanted(option):
                terms |= ounces
        return terms

    def _recipes(self, name: str) -> Iterator[tuple[dict[int, float], list[Row]]]:
        """Yield costs and rows of an aim, the more demanding first."""
        options = self.model.options
        if name == "least-money":
            yield self.model.per_pound(money_vector(options)), []
        elif name == "best-value":
            yield self.model.per_pound(cost_vector(self.problem, options, money=1.0)), []
        elif name == "variety":
            even = Fraction(1, max(1, self.problem.rules.max_items - 1))
            yield self._variety(max(Fraction(1, 4), even), max(Fraction(2, 5), even))
            yield self._variety(max(Fraction(7, 20), even), max(Fraction(3, 5), even))
        else:
            found = self._showpiece() if name == "showpiece" else self._help()
            if found is not None:
                yield found

    def _showpiece(self) -> tuple[dict[int, float], list[Row]] | None:
        costs = self.model.per_pound(cost_vector(self.problem, self.model.options, money=0.25))
        share = self._ounces(_is_centre_piece)
        if not share:
            return None
        share[self.model.total] = -min(_CENTRE_SHARE, float(self.problem.rules.max_share))
        return costs, [make_row("centre", share, 0, _INF)]

    def _variety(self, cut: Fraction, animal: Fraction) -> tuple[dict[int, float], list[Row]]:
        costs = self.model.per_pound(cost_vector(self.problem, self.model.options, money=1.0))
        # these rows stand in the place of those of the rules, which may be the stricter
        rows = list(self.model.share_rows(min(cut, self.problem.rules.max_share)))
        for name in sorted({str(option.offer.species) for option in self.model.options}):
            terms = self._ounces(partial(_is_of, species=name))
            terms[self.model.total] = -float(animal)
            rows.append(make_row(f"animal.{name}", terms, -_INF, 0))
        return costs, rows

    def _help(self) -> tuple[dict[int, float], list[Row]] | None:
        options = self.model.options
        if not any(option.help_per_lb > 0 for option in options):
            return None
        value = cost_vector(self.problem, options, money=1.0)
        costs = [0.2 * v - float(o.help_per_lb) for v, o in zip(value, options, strict=True)]
        return self.model.per_pound(costs), []


def _is_centre_piece(option: Option) -> bool:
    """Tell whether it can stand in the middle of the table: a centre cut, not sliced into wraps."""
    return "centre" in option.offer.slots and option.style in {"plate", "shared"}


def _is_of(option: Option, *, species: str) -> bool:
    return str(option.offer.species) == species


def total_money(problem: SpreadProblem, picks: Sequence[Pick]) -> Money:
    """Return the sum of the rounded lines."""
    return sum_money((pick.total(problem.rounding) for pick in picks), problem.currency)


def shared_meat(problem: SpreadProblem, found: Answer, other: Answer) -> Fraction:
    """Return the share of the meat of an answer that is of another's cuts, pinned lines aside."""
    pinned = {pin.offer_id for pin in problem.pinned}
    cuts = {pick.option.offer.id for pick in other.picks}
    chosen = [pick for pick in found.picks if pick.option.offer.id not in pinned]
    meat = [pick for pick in chosen if not pick.option.offer.is_meat_free] or chosen
    whole = sum((pick.oz for pick in meat), Fraction(0))
    same = sum((pick.oz for pick in meat if pick.option.offer.id in cuts), Fraction(0))
    return same / whole if whole else Fraction(1)
