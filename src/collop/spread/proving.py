"""Solve a program of gated amounts to a proven optimum, quickly.

The program decides which of a few hundred options are used (a gate column, 0 or 1) and how much
of each (whole steps of 0.01 lb, or whole pieces).  Handed over as it is, the small steps cost a
branch-and-bound solver seconds.  In stages they do not:

1. the linear relaxation gives a bound L and reduced costs r;
2. with amounts by weight left continuous, the most promising options give a set of lines;
3. that set alone is solved in whole steps, which gives a real answer of value V;
4. an option whose use would lift the bound past V - gap cannot be in a better answer: with
   r >= 0 for columns at zero, using it costs at least L + r[gate] + least * r[amount];
5. the few options that are left are solved together in whole steps, starting from V.

Stage 5 is exact over all options, so its proof is a proof for the whole program.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from collop.spread.program import Outcome, Program, Row

__all__ = ["Gate", "prove"]

_AT_ZERO = 1e-9
_FIRST = 30
_HALF = 0.5


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
) -> Outcome:
    """Minimise over `program`; the outcome is proven to within `abs_gap`.

    Parameters
    ----------
    program : Program
        Columns that belong to no gate are always kept.
    gates : sequence of Gate
    costs : mapping of column to cost
    extra : sequence of Row
        Further rows for this call alone.
    abs_gap : float
        Answers closer than this in the costs' unit count as equally good.
    rough : bool
        Stop after stage 3: a good answer of the most promising options, with its bound L.
    """
    relaxed = program.solve(costs, extra=extra, relax=range(len(program.names)))
    if relaxed.status == "infeasible":
        return relaxed
    staged = _Staged(program, gates, costs, extra, abs_gap)
    lift = [_lift(gate, relaxed) for gate in gates]
    order = sorted(range(len(gates)), key=lambda g: (lift[g], -relaxed.values[gates[g].use], g))
    known = staged.first_answer(order, abs_gap if rough else 10 * abs_gap)
    if known.status == "infeasible":
        if known.bound == math.inf:  # not even with continuous amounts: that is proof enough
            return known
        return staged.whole(range(len(gates)), None)
    if rough:
        return Outcome("limit", known.objective, relaxed.objective, known.values)
    reach = known.objective - abs_gap
    left = [g for g in range(len(gates)) if relaxed.objective + lift[g] <= reach]
    if relaxed.objective >= reach:
        return Outcome("optimal", known.objective, relaxed.objective, known.values)
    final = staged.whole(left, known)
    if final.status == "infeasible":  # nothing among those left: the known answer stands
        return Outcome("optimal", known.objective, reach, known.values)
    if final.objective > known.objective:
        return Outcome(final.status, known.objective, min(final.bound, reach), known.values)
    return final


def _lift(gate: Gate, relaxed: Outcome) -> float:
    """Return by how much using the option lifts the bound at least."""
    if relaxed.values[gate.use] > _AT_ZERO:
        return 0.0
    amount = min(max(0.0, relaxed.slopes[column]) for column in gate.amounts)
    return max(0.0, relaxed.slopes[gate.use]) + amount * gate.least


@dataclass(frozen=True, slots=True)
class _Staged:
    program: Program
    gates: Sequence[Gate]
    costs: Mapping[int, float]
    extra: Sequence[Row]
    abs_gap: float

    def columns(self, chosen: Sequence[int] | range) -> set[int]:
        """Return the columns of the chosen gates and of no gate."""
        gated = {column for gate in self.gates for column in gate.columns}
        mine = {column for g in chosen for column in self.gates[g].columns}
        return (set(range(len(self.program.names))) - gated) | mine

    def whole(self, chosen: Sequence[int] | range, known: Outcome | None) -> Outcome:
        """Solve the chosen options in whole steps."""
        return self.program.solve(
            self.costs,
            extra=self.extra,
            keep=self.columns(chosen),
            start=known.values if known else None,
            abs_gap=self.abs_gap,
        )

    def first_answer(self, order: Sequence[int], loose_gap: float) -> Outcome:
        """Return a good answer in whole steps, from ever more of the options."""
        relax = {c for gate in self.gates if gate.by_weight for c in gate.amounts}
        for size in dict.fromkeys((_FIRST, 3 * _FIRST, len(order))):
            chosen = order[: min(size, len(order))]
            loose = self.program.solve(
                self.costs,
                extra=self.extra,
                keep=self.columns(chosen),
                relax=relax,
                abs_gap=loose_gap,
            )
            if loose.status == "infeasible":
                if size >= len(order):
                    return Outcome("infeasible", bound=math.inf)
                continue
            lines = [g for g in chosen if loose.values[self.gates[g].use] > _HALF]
            found = self.whole(lines, None)
            if found.status == "infeasible":
                found = self.whole(chosen[:_FIRST], None)
            if found.status != "infeasible":
                return found
        return Outcome("infeasible", bound=-math.inf)
