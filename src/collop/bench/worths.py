"""Shadow prices: what one more unit of each cut, bin, piece and minute is worth, day by day.

They are the duals of the program with its choices fixed.  A unit that comes in fresh on day t and
keeps k days is worth the balance row of t plus the expiry rows of the nights it would be good for.
A unit that leaves the case on day t costs the balance row alone: the oldest goes first, and the
younger ones stay.
"""

from __future__ import annotations

from dataclasses import dataclass

from collop.bench.hands import everyone
from collop.bench.model import Model
from collop.bench.problem import Kind, Output, Style
from collop.bench.shelf import Shelf
from collop.bench.solving import Answer

__all__ = ["PieceWorth", "Worths", "worths_of"]


@dataclass(frozen=True, slots=True)
class PieceWorth:
    """The best that one unit of a kind brings: money per unit, and how and when."""

    per_unit: float
    day: int
    style: str


@dataclass(frozen=True, slots=True)
class Worths:
    """Money per unit, each list of shape (days,).

    Parameters
    ----------
    cuts, bins : dict of list
        One more unit that comes in on that day.
    parting : dict of list
        What a unit of the cut that leaves on that day would have brought otherwise.
    minutes : list of float
        One more minute of everybody's work.
    """

    cuts: dict[str, list[float]]
    bins: dict[str, list[float]]
    parting: dict[str, list[float]]
    minutes: list[float]

    def of_output(self, output: Output, day: int, kinds: dict[str, Kind]) -> float:
        """Return money for a unit of an output on a day; a large cut at its best style."""
        if output.to == "cut":
            return self.cuts[output.id][day]
        if output.to == "bin":
            return self.bins[output.id][day]
        if output.to == "worth":
            return float(output.worth)
        return max(self.of_style(style, day, kinds) for style in kinds[output.id].styles)

    def of_style(self, style: Style, day: int, kinds: dict[str, Kind]) -> float:
        """Return money for a unit cut in a style on a day, before labour."""
        return sum(float(o.share) * self.of_output(o, day, kinds) for o in style.outputs)

    def best(self, kind: Kind, days: range, weight: float, kinds: dict[str, Kind],
             styles: tuple[Style, ...] | None = None) -> PieceWorth | None:  # fmt: skip
        """Return the best way to cut a thing of `weight`, labour taken off; None if none."""
        found = [
            PieceWorth(
                self.of_style(style, day, kinds) - self._labour(style, day, kinds) / weight,
                day, style.id,
            )
            for day in days for style in (kind.styles if styles is None else styles)
        ]  # fmt: skip
        return max(found, key=lambda one: one.per_unit, default=None)

    def _labour(self, style: Style, day: int, kinds: dict[str, Kind]) -> float:
        below = sum(
            min(self._labour(one, day, kinds) for one in kinds[output.id].styles)
            for output in style.outputs if output.to == "kind"
        )  # fmt: skip
        return float(style.minutes) * self.minutes[day] + below


def _fresh(model: Model, shelf: Shelf, duals: list[float], keeps: int) -> list[float]:
    found = []
    for day, row in enumerate(shelf.balance):
        nights = (duals[one] for night, one in shelf.expiry.items() if day <= night < day + keeps)
        found.append(duals[row] + sum(nights))
    assert len(found) == model.days
    return found


def worths_of(answer: Answer) -> Worths:
    """Return the shadow prices of an answer."""
    model, duals = answer.model, answer.duals
    problem = model.problem
    everybody = everyone(problem)
    return Worths(
        cuts={key: _fresh(model, shelf, duals, problem.cuts[key].keeps_days)
              for key, shelf in model.cuts.items()},
        bins={key: _fresh(model, shelf, duals, problem.bins[key].keeps_days)
              for key, shelf in model.bins.items()},
        parting={key: [duals[row] for row in shelf.balance] for key, shelf in model.cuts.items()},
        minutes=[duals[model.work.rows[day, everybody]] for day in range(model.days)],
    )  # fmt: skip
