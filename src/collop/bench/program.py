"""Named columns and rows of a program, and the solver behind them.

One thread, a fixed seed and no time limit: the same program gives the same answer.  A node limit
bounds the work; an answer that meets it carries its gap.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from collop.solver import highspy, new_solver

__all__ = ["Hot", "Outcome", "Program"]

#: Tighter than this, HiGHS 1.16 drops answers and calls worse ones optimal.
_TOLERANCE = 1e-7
#: A good answer is there before the search starts: these cost more than they find.
_LEAN = {"mip_allow_restart": False, "mip_heuristic_run_root_reduced_cost": False}
_AGREES = 1e-6
_FEASIBLE = 2  # HiGHS: a primal solution within tolerance is at hand


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the solver said; it maximises.

    Parameters
    ----------
    status : str
        ``optimal`` (within the gap asked for), ``limit`` or ``infeasible``.
    objective, bound : float
        Value reached, and the best value still possible.
    values : list of float, shape (columns,)
        Empty if there is no answer.
    duals : list of float, shape (rows,)
        Gain for one more unit on the right; of a program without whole columns only.
    nodes : int
        Branches that were looked at.
    """

    status: str
    objective: float = -math.inf
    bound: float = math.inf
    values: list[float] = field(default_factory=list)
    duals: list[float] = field(default_factory=list)
    nodes: int = 0

    @property
    def gap(self) -> float:
        """Return (bound - objective) / max(1, |objective|), not negative."""
        if not self.values:
            return math.inf
        return max(0.0, self.bound - self.objective) / max(1.0, abs(self.objective))


@dataclass(slots=True)
class Program:
    """Maximise gains over columns subject to ``low <= sum <= high`` of rows.

    `constant` is money that every answer brings; the gap is a share of all of it.
    """

    gains: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    rows: list[dict[int, float]] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    constant: float = 0.0

    def column(self, gain: float, *, most: float = math.inf, whole: bool = False) -> int:
        """Add a column from 0 to `most` and return its index."""
        index = len(self.gains)
        self.gains.append(gain)
        self.lower.append(0.0)
        self.upper.append(most)
        if whole:
            self.whole.append(index)
        return index

    def row(
        self, terms: Mapping[int, float], low: float = -math.inf, high: float = math.inf
    ) -> int:
        """Add a row and return its index; the mapping is kept, so that terms may be added."""
        self.rows.append(dict(terms))
        self.low.append(low)
        self.high.append(high)
        return len(self.rows) - 1

    def model(self, *, relaxed: bool, gains: list[float] | None = None) -> Any:  # noqa: ANN401 -- the binding is untyped
        """Return the program as the solver reads it; `relaxed` lets whole columns be broken."""
        hp = highspy()
        model = hp.HighsLp()
        model.num_col_, model.num_row_ = len(self.gains), len(self.rows)
        model.sense_ = hp.ObjSense.kMaximize
        model.col_cost_ = self.gains if gains is None else gains
        model.offset_ = self.constant if gains is None else 0.0
        model.col_lower_, model.col_upper_ = self.lower, self.upper
        model.row_lower_, model.row_upper_ = self.low, self.high
        if not relaxed:
            kinds = [hp.HighsVarType.kContinuous] * len(self.gains)
            for column in self.whole:
                kinds[column] = hp.HighsVarType.kInteger
            model.integrality_ = kinds
        matrix = model.a_matrix_
        matrix.format_ = hp.MatrixFormat.kRowwise
        matrix.num_col_, matrix.num_row_ = len(self.gains), len(self.rows)
        matrix.start_ = list(itertools.accumulate(map(len, self.rows), initial=0))
        matrix.index_ = [column for row in self.rows for column in row]
        matrix.value_ = [value for row in self.rows for value in row.values()]
        return model

    def solve(
        self, *, gap: float, nodes: int, start: list[float] | None = None,
        gains: list[float] | None = None, effort: float = 0.05,
    ) -> Outcome:  # fmt: skip
        """Maximise with whole columns whole.

        Parameters
        ----------
        gap : float
            Relative; an answer this near the best is enough.
        nodes : int
            Most branches.
        start : list of float, optional
            An answer to begin from, shape (columns,).
        gains : list of float, optional
            Other gains than the program's own.
        effort : float
            Share of the work that goes into looking for answers rather than for bounds.
        """
        options: dict[str, object] = {
            **_LEAN, "mip_rel_gap": gap, "mip_max_nodes": nodes, "mip_heuristic_effort": effort,
        }  # fmt: skip
        if start is not None:
            # reduced, a start was valued higher than it is, and better answers were cut off by it
            options["presolve"] = "off"
        solver = new_solver(_TOLERANCE, options)
        solver.passModel(self.model(relaxed=False, gains=gains))
        if start is not None:
            first = highspy().HighsSolution()
            first.col_value = start
            solver.setSolution(first)
        solver.run()
        found = _outcome(solver, is_mip=True)
        used, constant = (self.gains, self.constant) if gains is None else (gains, 0.0)
        real = constant + sum(g * v for g, v in zip(used, found.values, strict=False))
        if found.values and abs(real - found.objective) > _AGREES * max(1.0, abs(real)):
            # never trust an objective that its own columns do not bring
            return self.solve(gap=gap, nodes=nodes, gains=gains, effort=effort) if start else (
                replace(found, status="limit", objective=real, bound=math.inf)
            )  # fmt: skip
        return found


class Hot:
    """A program without whole columns that is solved again and again after small changes.

    Parameters
    ----------
    program : Program
        Its whole columns are relaxed; fix them by `bound`.
    gains : list of float, optional
        Other gains than the program's own, shape (columns,).
    """

    def __init__(self, program: Program, gains: list[float] | None = None) -> None:
        self.program = program
        self._solver = new_solver(_TOLERANCE, {"presolve": "off"})
        self._solver.passModel(program.model(relaxed=True, gains=gains))

    def bound(self, column: int, low: float, high: float) -> None:
        """Give a column other bounds."""
        self._solver.changeColBounds(column, low, high)

    def gain(self, column: int, gain: float) -> None:
        """Give a column another gain."""
        self._solver.changeColCost(column, gain)

    def sides(self, row: int, low: float, high: float) -> None:
        """Give a row other sides."""
        self._solver.changeRowBounds(row, low, high)

    def solve(self) -> Outcome:
        """Solve from where the last answer was."""
        self._solver.run()
        return _outcome(self._solver, is_mip=False)


def _outcome(solver: Any, *, is_mip: bool) -> Outcome:  # noqa: ANN401
    status, info = solver.getModelStatus(), solver.getInfo()
    statuses = highspy().HighsModelStatus
    if info.primal_solution_status != _FEASIBLE:
        return Outcome("infeasible" if status == statuses.kInfeasible else "limit")
    answer = solver.getSolution()
    objective = info.objective_function_value
    return Outcome(
        "optimal" if status == statuses.kOptimal else "limit",
        objective,
        info.mip_dual_bound if is_mip else objective,
        list(answer.col_value),
        [] if is_mip else list(answer.row_dual),
        int(info.mip_node_count) if is_mip else 0,
    )
