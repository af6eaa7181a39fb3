"""The price of a cut at which the runner-up would bring as much as the plan.

Both programs are solved at higher prices of one cut, usual sales unchanged.  Their values are
piecewise linear in the price: straight lines lead to the cent, and halving does where they do not.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from collop.bench.program import Hot
from collop.bench.reasons_forced import Forced, Forcing
from collop.measures import minor_places

__all__ = ["Winning", "winning_price"]

_MOST = 5
_CUTS = 2
_STEPS = 30
_SAME = 1e-6
_CRUMB = 1e-6


@dataclass(frozen=True, slots=True)
class Winning:
    """A cut and the lowest price of it, in minor units, at which the runner-up is as good."""

    cut: str
    minor: int


def winning_price(forcing: Forcing, forced: Forced) -> Winning | None:
    """Return the price at which what was forced wins.

    Tried are the cuts of which it sells more than the plan, those that bring most beyond the plan
    first, then those of which it gives more, at up to five times their board price.

    Parameters
    ----------
    forcing : Forcing
        The plan.
    forced : Forced
        Its runner-up, with nothing short.

    Returns
    -------
    Winning or None
        None if no price of such a cut does it.
    """
    for cut in _main_cuts(forcing, forced)[:_CUTS]:
        minor = _Search(forcing, forced, cut).go()
        if minor is not None:
            return Winning(cut, minor)
    return None


def _main_cuts(forcing: Forcing, forced: Forced) -> list[str]:
    gains, before = forcing.model.program.gains, forcing.answer.values
    more = _gives(forcing, forced.other.taken)
    for key, weight in _gives(forcing, forcing.chosen).items():
        more[key] -= weight
    found = []
    for key, shelf in forcing.model.cuts.items():
        cut = forcing.model.problem.cuts[key]
        sold = sum(forced.values[col] - before[col] for col in shelf.sold.values())
        money = sum(gains[col] * (forced.values[col] - before[col]) for col in shelf.sold.values())
        if sold > _CRUMB:
            found.append((0, -round(money, 5), key))
        elif more[key] > _CRUMB:
            found.append((1, -round(float(cut.price) * more[key], 5), key))
    return [key for _, _, key in sorted(found)]


def _gives(forcing: Forcing, taken: Iterable[int]) -> dict[str, float]:
    """Return the weight of each cut that these ways give, or that their trim could become."""
    found: dict[str, float] = defaultdict(float)
    problem = forcing.model.problem
    for index in sorted(taken):
        way = forcing.model.ways[index]
        for output, weight in way.parts:
            if output.to == "cut":
                found[output.id] += float(way.to_free(weight))
            elif output.to == "bin":
                for cut in {make.cut for make in problem.makes if output.id in make.bins}:
                    found[cut] += float(way.to_free(weight))
    return found


@dataclass(frozen=True, slots=True)
class _Point:
    """How far the runner-up is behind at a price, and how fast it catches up, per minor unit."""

    minor: int
    behind: float
    catches: float


class _Search:
    def __init__(self, forcing: Forcing, forced: Forced, cut: str) -> None:
        self.forcing, self.forced = forcing, forced
        problem = forcing.model.problem
        self.cut = problem.cuts[cut]
        self.unit = 10 ** minor_places(problem.currency)
        steps = self.cut.steps
        self.columns = {
            column: steps[step] for (_, step), column in forcing.model.cuts[cut].sold.items()
        }

    def go(self) -> int | None:
        """Return the price in minor units; None if none is high enough."""
        board = math.floor(self.cut.price * self.unit)
        past = math.floor(_MOST * self.cut.price * self.unit) + 1
        catches = self._weight(self.forced.values) - self._weight(self.forcing.answer.values)
        low = _Point(board, self.forced.loses, catches / self.unit)
        high = past
        try:
            for step in range(_STEPS):
                if high - low.minor <= 1:
                    break
                guess = (low.minor + high) // 2
                if step % 3 < 2 and low.catches > _CRUMB / self.unit:
                    guess = low.minor + math.ceil(low.behind / low.catches - _SAME)
                point = self._at(max(low.minor + 1, min(high - 1, guess)))
                if point.behind > _SAME:
                    low = point
                else:
                    high = point.minor
        finally:
            self._price(self.cut.price)
        return high if high < past and high - low.minor <= 1 else None

    def _weight(self, values: list[float]) -> float:
        """Return what is sold, each step counted at its share of the board price."""
        return sum(float(share) * values[column] for column, share in self.columns.items())

    def _price(self, price: Fraction) -> None:
        gains = {column: float(price * share) for column, share in self.columns.items()}
        for hot in (self.forcing.as_is.hot, self.forcing.otherwise.hot):
            _set(hot, gains)

    def _at(self, minor: int) -> _Point:
        self._price(Fraction(minor, self.unit))
        plan = self.forcing.as_is.hot.solve()
        other = self.forcing.otherwise.at(self.forced.other.taken)
        if not (plan.values and other.values):
            return _Point(minor, math.inf, 0.0)
        catches = self._weight(other.values) - self._weight(plan.values)
        return _Point(minor, plan.objective - other.objective, catches / self.unit)


def _set(hot: Hot, gains: Mapping[int, float]) -> None:
    for column, gain in gains.items():
        hot.gain(column, gain)
