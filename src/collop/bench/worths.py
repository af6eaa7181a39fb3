"""Shadow prices: what one more unit of each cut, bin, piece and minute is worth, day by day.

They are the duals of the program with its choices fixed.  A unit that leaves the case on day t
costs the dual of the balance row of t: the oldest goes first, and the younger ones stay.  A unit
that comes in fresh on day t and keeps k days is worth the most of these from t to t + k, less the
room it takes until then.
"""

from __future__ import annotations

from dataclasses import dataclass

from collop.bench.hands import hands_for
from collop.bench.problem import BenchProblem, Kind, Output, Style
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
    labour : dict of list
        What a minute of a style costs: by style, by day; never under the pay of those who can.
    """

    cuts: dict[str, list[float]]
    bins: dict[str, list[float]]
    parting: dict[str, list[float]]
    minutes: list[float]
    labour: dict[str, list[float]]

    def of_output(self, output: Output, day: int, kinds: dict[str, Kind]) -> float:
        """Return money for a unit of an output on a day; a large cut at its best style."""
        if output.to == "cut":
            return self.cuts[output.id][day]
        if output.to == "bin":
            return self.bins[output.id][day]
        if output.to == "worth":
            return float(output.worth)
        kind = kinds[output.id]
        later = range(day, min(day + kind.holds_days + 1, len(self.minutes)))
        return max(self.of_style(style, at, kinds) for style in kind.styles for at in later)

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
        return float(style.minutes) * self.labour[style.id][day] + below


def _fresh(parting: list[float], keeps: int, nights: list[float]) -> list[float]:
    """Return for each day the best that a unit which comes in then can do while it keeps.

    `nights` is what a unit of room costs each night. The duals of the expiry rows are not used:
    where nothing is left at night they may be anything.
    """
    found = []
    for day in range(len(parting)):
        best, kept = parting[day], 0.0
        for later in range(day + 1, min(day + keeps + 1, len(parting))):
            kept += nights[later - 1]
            best = max(best, parting[later] - kept)
        found.append(best)
    return found


def worths_of(answer: Answer) -> Worths:
    """Return the shadow prices of an answer."""
    model, duals = answer.model, answer.duals
    problem = model.problem
    rows = model.work.rows
    groups = {group for _, group in rows}
    minutes = {
        group: [max(duals[rows[day, group]], _pay(problem, group, day))
                for day in range(model.days)]
        for group in groups
    }  # fmt: skip
    parting = {key: [duals[row] for row in shelf.balance] for key, shelf in model.cuts.items()}
    trim = {key: [duals[row] for row in shelf.balance] for key, shelf in model.bins.items()}
    free = [0.0] * model.days
    nights = [duals[model.room[day]] if day in model.room else 0.0 for day in range(model.days)]
    return Worths(
        cuts={key: _fresh(each, problem.cuts[key].keeps_days, nights)
              for key, each in parting.items()},
        bins={key: _fresh(each, problem.bins[key].keeps_days, free) for key, each in trim.items()},
        parting=parting,
        minutes=[max(duals[rows[day, group]] for group in groups) for day in range(model.days)],
        labour={
            style.id: minutes.get(hands_for(problem, style.id), [0.0] * model.days)
            for kind in problem.kinds.values() for style in kind.styles
        },
    )  # fmt: skip


def _pay(problem: BenchProblem, group: frozenset[str], day: int) -> float:
    """Return the least that a minute of those hands costs on a day; 0 if none is there."""
    pays = [
        pay / 60
        for hand in problem.hands if hand.name in group
        for pay, minutes in ((hand.per_hour, hand.minutes), (hand.overtime_per_hour, hand.overtime))
        if minutes[day] > 0
    ]  # fmt: skip
    return float(min(pays, default=0))
