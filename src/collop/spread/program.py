"""A small layer of named columns and rows over HiGHS.

Names are kept so that a model can be read back in the trade's words.  One thread, a fixed seed
and no time limit: the same program gives the same answer.  A node limit bounds the work; an
answer that meets it carries its gap.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from collop.solver import highspy, new_solver

__all__ = ["Outcome", "Program", "Row", "make_row"]

_NODES = 3_000
#: Whole steps are mostly searched through sooner than they are reduced.  Where no whole steps fit
#: into a thin gap, reducing shows in one node what the search spends thousands of rounds on.
_UNREDUCED = 100
#: Tighter than this, HiGHS 1.16 drops answers and calls worse ones optimal.
_TOLERANCE = 1e-7
_NOISE = 1e-9
_REPAIRS = 5
_FEASIBLE = 2  # HiGHS: a primal solution within tolerance is at hand


@dataclass(frozen=True, slots=True)
class Row:
    """``low <= sum coefficient * column <= high``."""

    name: str
    low: float
    high: float
    terms: tuple[tuple[int, float], ...]


def make_row(name: str, terms: Mapping[int, float], low: float, high: float) -> Row:
    """Return a row without its zero coefficients."""
    return Row(name, low, high, tuple((c, float(v)) for c, v in terms.items() if v))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the solver said.

    Attributes
    ----------
    status : str
        ``optimal`` (no answer is better by more than the asked gap), ``limit`` (node limit met,
        with an answer or without), or ``infeasible`` (there is no answer, or none good enough).
    objective, bound : float
        Value reached, and the best value still possible.
    values : mapping of column to float
        Columns left out are zero; empty if there is no answer.
    slopes : mapping of column to float
        Reduced costs, for a program without whole columns only.
    """

    status: str
    objective: float = math.inf
    bound: float = -math.inf
    values: Mapping[int, float] = field(default_factory=dict)
    slopes: Mapping[int, float] = field(default_factory=dict)

    @property
    def gap(self) -> float:
        """Return (objective - bound) / max(1, |objective|), not negative."""
        if self.status == "infeasible":
            return math.inf
        return max(0.0, self.objective - self.bound) / max(1.0, abs(self.objective))


@dataclass(slots=True)
class Program:
    """Minimise costs over named columns subject to named rows."""

    names: list[str] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    totals: dict[int, Row] = field(default_factory=dict)

    def column(self, name: str, low: float, high: float, *, whole: bool = False) -> int:
        """Add a column and return its index."""
        self.names.append(name)
        self.lower.append(low)
        self.upper.append(high)
        self.whole.append(whole)
        return len(self.names) - 1

    def total(self, name: str, terms: Mapping[int, float], low: float) -> int:
        """Add a column that is the sum of `terms`, at least `low`, and return its index."""
        column = self.column(name, low, math.inf)
        self.totals[column] = make_row(f"total.{name}", {**terms, column: -1.0}, 0, 0)
        self.rows.append(self.totals[column])
        return column

    def row(self, name: str, terms: Mapping[int, float], low: float, high: float) -> None:
        """Add a row; columns with a zero coefficient are dropped."""
        self.rows.append(make_row(name, terms, low, high))

    def put(self, rows: Iterable[Row]) -> None:
        """Add rows, each in the place of one of the same name if there is one."""
        new = {row.name: row for row in rows}
        self.rows = [row for row in self.rows if row.name not in new]
        self.rows += new.values()

    def solve(
        self,
        costs: Mapping[int, float],
        *,
        extra: Sequence[Row] = (),
        keep: Collection[int] | None = None,
        relax: Collection[int] = (),
        abs_gap: float = 1e-6,
        below: float = math.inf,
    ) -> Outcome:
        """Minimise ``sum cost * column``.

        Parameters
        ----------
        costs : mapping of column to cost
        extra : sequence of Row
            Further rows for this call alone; one of the same name replaces the program's own.
        keep : collection of int, optional
            Columns taken along; the others stand at zero.
        relax : collection of int
            Whole columns that may take any value in this call.
        abs_gap : float
            Two answers closer than this count as equally good.
        below : float
            Only an answer of less than this is of use.
        """
        columns = sorted(keep) if keep is not None else list(range(len(self.names)))
        whole = [self.whole[c] and c not in relax for c in columns]
        named = {row.name for row in extra}
        rows = [*(row for row in self.rows if row.name not in named), *extra]
        if keep is not None:
            rows = self._within(rows, columns)
        is_mip = any(whole)
        loose = is_mip and bool(relax)
        for _ in range(_REPAIRS):
            model = self._model(costs, rows, columns, whole)
            for is_reduced in (True,) if loose else (False, True):
                solver = _solver(abs_gap, below, loose=loose, is_reduced=is_reduced)
                solver.passModel(model)
                solver.run()
                outcome = _outcome(solver, columns, below, is_mip=is_mip)
                if outcome.status != "limit":
                    break
            kept = rows if relax else self._drawn_in(rows, outcome.values)
            if kept == rows:
                break
            rows = kept
        return outcome

    def _within(self, rows: Iterable[Row], columns: Sequence[int]) -> list[Row]:
        """Return the rows over `columns` alone, without those that the bounds already keep."""
        inside, found = set(columns), []
        for row in rows:
            terms = tuple([term for term in row.terms if term[0] in inside])
            ends = [0.0]
            if len(terms) == 1:
                ((column, value),) = terms
                ends = [value * self.lower[column], value * self.upper[column]]
            if len(terms) > 1 or min(ends) < row.low or max(ends) > row.high:
                found.append(Row(row.name, row.low, row.high, terms))
        return found

    def _drawn_in(self, rows: list[Row], values: Mapping[int, float]) -> list[Row]:
        """Return the rows, drawn in where an answer in whole steps breaks one.

        The solver may break a row by its tolerance; where more than the noise of floats is broken,
        the row gets as much room as the tolerance takes.
        """
        exact = {c: round(v) if self.whole[c] else v for c, v in values.items()}
        for column, row in self.totals.items():
            exact[column] = sum(v * exact.get(c, 0.0) for c, v in row.terms if c != column)
        found = list(rows)
        for index, row in enumerate(rows if values else ()):
            reached = sum(value * exact[column] for column, value in row.terms)
            if reached < row.low - _NOISE:
                found[index] = replace(row, low=row.low + 2 * _TOLERANCE)
            elif reached > row.high + _NOISE:
                found[index] = replace(row, high=row.high - 2 * _TOLERANCE)
        return found

    def _model(
        self,
        costs: Mapping[int, float],
        rows: Sequence[Row],
        columns: Sequence[int],
        whole: Sequence[bool],
    ) -> Any:  # noqa: ANN401 -- the binding is untyped
        hp = highspy()
        model = hp.HighsLp()
        model.num_col_, model.num_row_ = len(columns), len(rows)
        model.col_cost_ = [costs.get(column, 0.0) for column in columns]
        model.col_lower_ = [self.lower[column] for column in columns]
        model.col_upper_ = [self.upper[column] for column in columns]
        kinds = hp.HighsVarType
        model.integrality_ = [kinds.kInteger if w else kinds.kContinuous for w in whole]
        model.row_lower_ = [row.low for row in rows]
        model.row_upper_ = [row.high for row in rows]
        place = {column: index for index, column in enumerate(columns)}
        matrix = model.a_matrix_
        matrix.format_ = hp.MatrixFormat.kRowwise
        matrix.num_col_, matrix.num_row_ = len(columns), len(rows)
        matrix.start_ = list(itertools.accumulate((len(row.terms) for row in rows), initial=0))
        matrix.index_ = [place[column] for row in rows for column, _ in row.terms]
        matrix.value_ = [value for row in rows for _, value in row.terms]
        return model


def _solver(abs_gap: float, below: float, *, loose: bool, is_reduced: bool) -> Any:  # noqa: ANN401
    options = {
        "mip_rel_gap": 0.0,
        "mip_abs_gap": abs_gap,
        "objective_bound": below,
        # a lone relaxation of this size is solved sooner than it is reduced
        "presolve": "choose" if is_reduced else "off",
        "mip_max_nodes": _NODES if is_reduced else _UNREDUCED,
        # small models with a good first answer: these cost more than they find
        "mip_allow_restart": False,
        "mip_heuristic_run_feasibility_jump": False,
        "mip_heuristic_run_rens": False,
        "mip_heuristic_run_rins": False,
        "mip_heuristic_run_root_reduced_cost": False,
        "mip_allow_cut_separation_at_nodes": not loose,
        "mip_pscost_minreliable": 1,
    }
    return new_solver(_TOLERANCE, options)


def _outcome(
    solver: Any,  # noqa: ANN401
    columns: Sequence[int],
    below: float,
    *,
    is_mip: bool,
) -> Outcome:
    model_status, info = solver.getModelStatus(), solver.getInfo()
    statuses = highspy().HighsModelStatus
    limited = model_status in (statuses.kIterationLimit, statuses.kSolutionLimit)
    objective = info.objective_function_value
    if info.primal_solution_status != _FEASIBLE or objective >= below:
        return Outcome("limit" if limited else "infeasible")
    answer = solver.getSolution()
    return Outcome(
        "limit" if limited else "optimal",
        objective,
        info.mip_dual_bound if is_mip else objective,
        dict(zip(columns, answer.col_value, strict=True)),
        {} if is_mip else dict(zip(columns, answer.col_dual, strict=True)),
    )
