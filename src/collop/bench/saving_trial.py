"""One change put into a problem: does it cover a short promise, and who else would pay for it.

Only the shortage is asked about, never the money.  The relaxed program says quickly what cannot
help; a plan in whole pieces that keeps the promise says what does.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from collop.bench.model import Model, build
from collop.bench.problem import BenchProblem
from collop.bench.program import Hot
from collop.bench.searching import searched

if TYPE_CHECKING:
    from collop.bench.plan import Found

__all__ = ["Before", "Budget", "Lack", "Trial", "before_of"]

#: Beyond this it is left untold rather than waited for.
_NODES = 300
#: Up to so many columns the least shortage is proven; beyond it that takes many seconds.
_SMALL = 2_000
#: Less than this is nothing short; it is far under the thousandth that a plan tells.
_CRUMB = 1e-5
_SCALE_STEP = 1e-3
#: Money that is no difference.
_SAME = 1e-5
#: Of two plans that are equally short, the one that leaves this promise short is taken.
_LEANS = 0.99
#: ... and the one that leaves the others as they are.
_STAYS = 1e-3


@dataclass(frozen=True, slots=True)
class Lack:
    """A promise that is not kept.

    Parameters
    ----------
    row : dict
        Its row among the plan's ``short``.
    cost : Fraction
        Money short: weight x price, or what the piece stands for.
    due : int
        Day.
    short : Fraction
        Weight.
    line : (int, int), optional
        Booking and line, of a line of a booking.
    tag : str, optional
        The piece that is not broken in time, of a claim or an order to break it.
    """

    row: dict[str, Any]
    cost: Fraction
    due: int
    short: Fraction
    line: tuple[int, int] | None = None
    tag: str | None = None


@dataclass(frozen=True, slots=True)
class Before:
    """What falls short in the plan as it is: weights by (booking, line), and late pieces.

    `taken` has (what is cut, style, day) of each break.
    """

    lines: Mapping[tuple[int, int], Fraction]
    late: frozenset[str]
    taken: frozenset[tuple[str, str, int]]


@dataclass(slots=True)
class Budget:
    """How much may still be tried.

    Parameters
    ----------
    solves : int
        Whole-number programs.
    columns : int
        Columns of all programs that are built, together.
    """

    solves: int = 12
    columns: int = 80_000

    @property
    def is_spent(self) -> bool:
        """Whether nothing more may be tried."""
        return self.solves <= 0 or self.columns <= 0


def before_of(found: Found) -> Before:
    """Return what falls short in a plan as it is."""
    problem, met = found.problem, found.flows.met
    lines = {
        (at, number): line.weight - met[at, number]
        for at, booking in enumerate(problem.bookings)
        for number, line in enumerate(booking.lines)
    }
    day = {way.tag: way.day for way in found.flows.ways if way.parent is None}
    late = set()
    for piece in problem.rail:
        due = [claim.due for claim in piece.claims] + ([piece.until_day] if piece.must else [])
        if due and day.get(piece.tag, len(problem.days)) > min(due):
            late.add(piece.tag)
    taken = frozenset((way.node, way.style.id, way.day) for way in found.flows.ways)
    return Before(lines, frozenset(late), taken)


@dataclass(slots=True)
class Trial:
    """A changed problem and the promise it is to cover.

    Parameters
    ----------
    problem : BenchProblem
        With the change; bookings and their lines in the order they had.
    lack : Lack
        What is to be covered.
    before : Before
        What is short without the change.
    budget : Budget
        Counts what is tried.
    lent_by : int, optional
        Last day on which more minutes may be lent; none are if it is left out.
    """

    problem: BenchProblem
    lack: Lack
    before: Before
    budget: Budget
    lent_by: int | None = None
    _model: Model = field(init=False)
    _target: int = field(init=False)
    _excess: dict[int, float] = field(init=False, default_factory=dict)
    _over: dict[int, int] = field(init=False, default_factory=dict)
    _most: dict[int, float] = field(init=False, default_factory=dict)
    _pool: int = field(init=False, default=-1)

    def __post_init__(self) -> None:
        """Build the program, with a column for each promise that gets shorter than it was."""
        model = self._model = build(self.problem)
        self.budget.columns -= len(model.program.gains)
        lack = self.lack
        if lack.line is not None:
            self._target = model.short[lack.line]
        else:
            assert lack.tag is not None
            self._target = model.missed[lack.tag]
        for place, column in model.short.items():
            self._most[column] = float(self.before.lines[place]) + _SCALE_STEP
        for tag, column in model.missed.items():
            self._most[column] = 1.0 if tag in self.before.late else 0.0
        del self._most[self._target]
        cost = model.short_cost()
        for column, most in self._most.items():
            excess = model.program.column(0.0)
            model.program.row({column: 1.0, excess: -1.0}, high=most)
            self._excess[excess] = _STAYS * cost[column]
            self._over[excess] = column
        if self.lent_by is not None:
            self._lend(self.lent_by)

    def _lend(self, by: int) -> None:
        """Let every hand at work stay longer on the days up to `by`, so long in all as is lent."""
        program, lent = self._model.program, {}
        for (at, day), column in self._model.work.overtime.items():
            hand = self.problem.hands[at]
            if day <= by and hand.minutes[day]:
                program.upper[column] = float("inf")
                longer = program.column(0.0)
                program.row({column: 1.0, longer: -1.0}, high=float(hand.overtime[day]))
                lent[longer] = 1.0
        self._pool = program.row(lent, high=0.0)

    def lend(self, minutes: int) -> Trial:
        """Lend so many minutes in all; return self."""
        self._model.program.high[self._pool] = float(minutes)
        return self

    def may_cover(self) -> bool:
        """Return False if even parts of pieces could not cover it with the others as they are."""
        program = self._model.program
        gains = [0.0] * len(program.gains)
        gains[self._target] = -1.0
        uppers = list(program.upper)
        for excess in self._excess:
            program.upper[excess] = 0.0
        found = Hot(program, gains).solve()
        program.upper[:] = uppers
        return bool(found.values) and found.values[self._target] <= _CRUMB

    def covers(self) -> bool:
        """Return whether the least short plan meets it, and no other promise less than before.

        The answer is no as well if that is not proven within the nodes allowed.  A program of more
        columns than `_SMALL` is not proven: there it is yes if such a plan is found.
        """
        self.budget.solves -= 1
        model, program = self._model, self._model.program
        gains = model.short_cost()
        gains[self._target] *= _LEANS
        for excess, gain in self._excess.items():
            gains[excess] = gain
        bound = Hot(program, gains).solve().objective
        start = searched(model, self._as_it_was()).values
        if start:
            for excess, column in self._over.items():
                start[excess] = max(0.0, start[column] - self._most[column])
            money = sum(gain * start[column] for column, gain in enumerate(gains) if gain)
            is_least = money >= bound - _SAME
            if is_least or len(gains) > _SMALL:
                return self._is_told(start)
        found = program.solve(gap=0.0, nodes=_NODES, gains=gains, start=start or None)
        return found.status == "optimal" and self._is_told(found.values)

    def _is_told(self, values: Sequence[float]) -> bool:
        return values[self._target] <= _CRUMB and all(
            values[excess] <= _CRUMB for excess in self._excess
        )

    def _as_it_was(self) -> frozenset[int]:
        """Return the ways that the plan took before the change."""
        taken: set[int] = set()
        for way in self._model.ways:
            is_open = way.parent is None or way.parent in taken
            if is_open and (way.node, way.style.id, way.day) in self.before.taken:
                taken.add(way.index)
        return frozenset(taken)
