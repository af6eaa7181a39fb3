"""Solve a program of gated amounts to a proven optimum, quickly.

The program decides which of a few hundred options are used (a gate column, 0 or 1) and how much
of each (whole steps of 0.01 lb, or whole pieces).  Handed over as it is, the small steps cost a
branch-and-bound solver seconds.  They are taken apart:

- *which lines*: with amounts by weight left continuous (*loose*) the program is quick to solve,
  and its value is a bound for every answer with those lines;
- *how much*: the few lines so found, in whole steps.

The search holds the best answer in whole steps so far, of value V, and goes round:

1. once at the start, the linear relaxation gives a bound L and reduced costs r: with r >= 0 for
   columns at zero, an answer that uses an option costs at least L + r[gate] + least * r[amount];
2. options that would lift the bound past V - gap cannot be in a better answer; the others, the
   most promising first, are searched loosely for lines that could still beat V - gap;
3. those lines are solved in whole steps, and from then on an answer must use some option outside
   them.

When no lines are left that could beat V - gap, V is proven to within the gap.  Each exclusion was
earned by a finished search in whole steps, so the proof is a proof for the whole program.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from collop.spread.program import Outcome, Program, Row, make_row

__all__ = ["Gate", "prove"]

_AT_ZERO = 1e-9
_HALF = 0.5
#: Options searched first, and then before all that are left: a good answer makes the rest quick.
_POOLS = (14, 28)
#: So many sets of lines are closed one by one, then all of them together.
_APART = 8
#: The loose search may stop this many gaps early: any lines that beat the known answer will do.
_LOOSE = 10
#: Work is bounded: so many sets of lines, and so many unfinished searches.
_ROUNDS, _DOUBTS = 60, 3


@dataclass(frozen=True, slots=True)
class Gate:
    """One option: its gate column, its amounts, and the least amount when it is used [steps]."""

    use: int
    amounts: tuple[int, ...]
    least: float
    by_weight: bool
    places: int | None = None

    @property
    def columns(self) -> tuple[int, ...]:
        """Return all columns that stand at zero when the option is not used."""
        return (self.use, *self.amounts, *(() if self.places is None else (self.places,)))


def prove(
    program: Program,
    gates: Sequence[Gate],
    costs: Mapping[int, float],
    *,
    extra: Sequence[Row] = (),
    abs_gap: float = 0.5,
    rough: bool = False,
    start: Mapping[int, float] | None = None,
) -> Outcome:
    """Minimise over `program`; the outcome is proven to within `abs_gap`.

    Parameters
    ----------
    program : Program
        Columns that belong to no gate are always kept.
    gates : sequence of Gate
    costs : mapping of column to cost
    extra : sequence of Row
        Further rows for this call alone; see `Program.solve`.
    abs_gap : float
        Answers closer than this in the costs' unit count as equally good.
    rough : bool
        Stop at the first answer: a good one of the most promising options, with its bound L.
    start : mapping of column to value, optional
        An answer to a program much like this one; its lines are tried first.

    Returns
    -------
    Outcome
        ``optimal``, ``infeasible``, or ``limit`` when rough or when the work met its bound.
    """
    relaxed = program.solve(costs, extra=extra, relax=range(len(program.names)))
    if relaxed.status == "infeasible":
        return relaxed
    search = _Search(program, gates, costs, extra, abs_gap, 1 if rough else _LOOSE)
    if start:
        search.begin(start)
    lift = [_lift(gate, relaxed) for gate in gates]
    order = sorted(range(len(gates)), key=lambda g: (lift[g], -relaxed.values[gates[g].use], g))
    while relaxed.objective < search.reach and not (rough and search.best.values):
        if not search.step([g for g in order if relaxed.objective + lift[g] <= search.reach]):
            break
    return search.outcome(relaxed.objective, rough=rough)


def _lift(gate: Gate, relaxed: Outcome) -> float:
    """Return by how much using the option lifts the bound at least."""
    if relaxed.values[gate.use] > _AT_ZERO:
        return 0.0
    amount = min(max(0.0, relaxed.slopes[column]) for column in gate.amounts)
    return max(0.0, relaxed.slopes[gate.use]) + amount * gate.least


def _lines(values: Mapping[int, float], gates: Sequence[Gate]) -> set[int]:
    """Return the options used in an answer."""
    return {g for g, gate in enumerate(gates) if values.get(gate.use, 0.0) > _HALF}


@dataclass(slots=True)
class _Search:
    """The best answer so far, and the sets of lines that hold no better one (`closed`)."""

    program: Program
    gates: Sequence[Gate]
    costs: Mapping[int, float]
    extra: Sequence[Row]
    abs_gap: float
    loose: float
    best: Outcome = field(default_factory=lambda: Outcome("infeasible"))
    closed: list[set[int]] = field(default_factory=list)
    pools: list[int] = field(default_factory=lambda: list(_POOLS))
    rounds: int = 0
    doubts: int = 0

    @property
    def reach(self) -> float:
        """Return the value an answer must beat."""
        return self.best.objective - self.abs_gap

    def begin(self, start: Mapping[int, float]) -> None:
        """Try the lines of `start`; with that answer at hand all options are searched at once."""
        self._close(_lines(start, self.gates))
        self.pools.clear()

    def step(self, left: Sequence[int]) -> bool:
        """Search on among the options left; false when that is over."""
        pool = left[: self.pools.pop(0)] if self.pools else left
        lines = self._find(pool)
        if not lines:
            return len(pool) < len(left)
        if len(self.closed) >= _APART:
            lines = lines.union(*self.closed)
            self.closed.clear()
        self._close(lines)
        self.rounds += 1
        if self.rounds >= _ROUNDS:
            self.doubts += 1
            return False
        return self.doubts < _DOUBTS

    def outcome(self, relaxed: float, *, rough: bool) -> Outcome:
        """Return the best answer with what is proven about it; `relaxed` is the first bound."""
        best = self.best
        if rough or self.doubts:
            return Outcome("limit", best.objective, relaxed, best.values)
        if not best.values:
            return Outcome("infeasible")
        return Outcome("optimal", best.objective, self.reach, best.values)

    def _find(self, pool: Sequence[int]) -> set[int]:
        """Return lines that could beat the known answer if weights could be any; or none."""
        elsewhere = [
            make_row(
                "elsewhere",
                {self.gates[g].use: 1.0 for g in pool if g not in lines},
                1,
                math.inf,
            )
            for lines in self.closed
        ]
        found = self.program.solve(
            self.costs,
            extra=[*self.extra, *elsewhere],
            keep=self._columns(pool),
            relax={c for g in pool if self.gates[g].by_weight for c in self.gates[g].amounts},
            abs_gap=self.loose * self.abs_gap,
            below=self.reach,
        )
        if found.status == "limit" and not found.values:
            self.doubts += 1
        return _lines(found.values, self.gates)

    def _close(self, lines: set[int]) -> None:
        """Solve the lines in whole steps."""
        found = self.program.solve(
            self.costs,
            extra=self.extra,
            keep=self._columns(lines),
            abs_gap=self.abs_gap,
            below=self.reach,
        )
        if found.status == "limit":
            self.doubts += 1
        if found.values:
            self.best = found
        self.closed.append(lines)

    def _columns(self, chosen: Collection[int]) -> set[int]:
        """Return the columns of the chosen gates and of no gate."""
        gated = {column for gate in self.gates for column in gate.columns}
        mine = {column for g in chosen for column in self.gates[g].columns}
        return (set(range(len(self.program.names))) - gated) | mine
