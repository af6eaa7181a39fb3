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
better.  Each aim after the first must really differ from every earlier answer: at most half of
its food is of that answer's meat cuts (three quarters, where half cannot be had).
"""

from __future__ import annotations

import statistics
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial

from collop.measures import Weight, WeightUnit
from collop.spread.model import Pick, SpreadModel
from collop.spread.need import mean_and_sd
from collop.spread.options import Option
from collop.spread.problem import SpreadProblem
from collop.spread.program import Outcome, Row, make_row
from collop.spread.proving import prove

__all__ = [
    "Answer",
    "Solver",
    "cost_vector",
    "eating_of",
    "eating_vector",
    "eating_worth",
    "money_vector",
    "total_minor",
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
    """Solves aims over one model, with an optional budget [minor units]."""

    problem: SpreadProblem
    model: SpreadModel
    budget: int | None = None
    answers: list[Answer] = field(default_factory=list)

    def solve(
        self,
        costs: dict[int, float],
        *,
        extra: Sequence[Row] = (),
        budget: int | None = None,
        abs_gap: float = ABS_GAP,
        rough: bool = False,
    ) -> tuple[Outcome, tuple[Pick, ...]]:
        """Solve one aim; the total of rounded lines never passes the budget.

        With `rough` the answer is good to about `abs_gap` and not proven.

        Lines are rounded to the minor unit one by one, which can lift a total by a few units over
        the exact sum; then the money row is drawn in by as much and the aim solved again.
        """
        limit = self.budget if budget is None else budget
        for tighter in range(4):
            rows = list(extra)
            if limit is not None:
                money = self.model.per_pound(money_vector(self.model.options))
                rows.append(make_row("budget", money, 0, limit - tighter))
            outcome = prove(
                self.model.program,
                self.model.gates,
                costs,
                extra=rows,
                abs_gap=abs_gap,
                rough=rough,
            )
            if outcome.status == "infeasible":
                return outcome, ()
            picks = self.model.picks(outcome.values)
            if limit is None or total_minor(self.problem, picks) <= limit:
                return outcome, picks
        return Outcome("infeasible"), ()

    def aim(self, name: str, *, apart: bool) -> Answer | None:
        """Solve a named aim, differing from the earlier answers if `apart`; None if it cannot."""
        for shared in SHARED if apart and self.answers else (1.0,):
            rows = [self._apart(a, shared) for a in self.answers if shared < 1]
            for costs, extra in self._recipes(name):
                outcome, picks = self.solve(costs, extra=[*extra, *rows])
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

    def _apart(self, earlier: Answer, shared: float) -> Row:
        """Return the row: at most `shared` of the food is of the earlier answer's meat cuts."""
        pinned = {pin.offer_id for pin in self.problem.pinned}
        cuts = {p.option.offer.id for p in earlier.picks if not p.option.offer.is_meat_free}
        cuts = (cuts or {p.option.offer.id for p in earlier.picks}) - pinned
        terms = self._ounces(lambda option: option.offer.id in cuts)
        return make_row(f"apart.{earlier.aim}", {**terms, self.model.total: -shared}, -_INF, 0)

    def _ounces(self, wanted: Callable[[Option], bool]) -> dict[int, float]:
        return {
            column: float(option.oz_per_lb * part.mlb / 1000)
            for option, columns in zip(self.model.options, self.model.amounts, strict=True)
            if wanted(option)
            for part, column in zip(option.parts, columns, strict=True)
        }

    def _recipes(self, name: str) -> Iterator[tuple[dict[int, float], list[Row]]]:
        """Yield costs and rows of an aim, the more demanding first."""
        options = self.model.options
        if name == "least-money":
            yield self.model.per_pound(money_vector(options)), []
        elif name == "best-value":
            yield self.model.per_pound(cost_vector(self.problem, options, money=1.0)), []
        elif name == "variety":
            even = 1 / max(1, self.problem.rules.max_items - 1)
            yield self._variety(max(0.25, even), max(0.4, even))
            yield self._variety(max(0.35, even), max(0.6, even))
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

    def _variety(self, cut: float, animal: float) -> tuple[dict[int, float], list[Row]]:
        costs = self.model.per_pound(cost_vector(self.problem, self.model.options, money=1.0))
        total = self.model.total
        marks = {("cut", o.offer.id): cut for o in self.model.options}
        marks |= {("animal", str(o.offer.species)): animal for o in self.model.options}
        rows = []
        for (kind, name), share in sorted(marks.items()):
            terms = self._ounces(partial(_is_of, kind=kind, name=name))
            rows.append(make_row(f"{kind}.{name}", {**terms, total: -share}, -_INF, 0))
        return costs, [*rows, *self._too_big(cut)]

    def _too_big(self, share: float) -> Iterator[Row]:
        """Yield rows that leave out pieces which alone are over the share of all that is eaten."""
        if self.model.most_oz is None:
            return
        for option, columns in zip(self.model.options, self.model.amounts, strict=True):
            for part, column in zip(option.parts, columns, strict=True):
                if float(option.oz_per_lb * part.mlb / 1000) > share * float(self.model.most_oz):
                    yield make_row("too-big", {column: 1.0}, 0, 0)

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


def _is_of(option: Option, *, kind: str, name: str) -> bool:
    return name == (option.offer.id if kind == "cut" else str(option.offer.species))


def total_minor(problem: SpreadProblem, picks: Sequence[Pick]) -> int:
    """Return the total of the rounded lines [minor units]."""
    return sum(
        p.option.offer.price.line(Weight.of(p.pounds, WeightUnit.LB), problem.rounding).minor
        for p in picks
    )
