"""A small layer of named columns and rows over HiGHS.

Names are kept so that a model can be read back in the trade's words.  One thread, a fixed seed
and no time limit: the same program gives the same answer.  A node limit bounds the work; an
answer that meets it carries its gap.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any

__all__ = ["Outcome", "Program", "Row", "make_row"]

_NODES = 3_000
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
        ``optimal`` (no answer is better by more than the asked gap), ``limit`` (node limit met
        with an answer at hand), or ``infeasible``.
    objective, bound : float
        Value reached, and the best value still possible.
    values : mapping of column to float
        Columns left out are zero; empty if infeasible.
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

    def column(self, name: str, low: float, high: float, *, whole: bool = False) -> int:
        """Add a column and return its index."""
        self.names.append(name)
        self.lower.append(low)
        self.upper.append(high)
        self.whole.append(whole)
        return len(self.names) - 1

    def row(self, name: str, terms: Mapping[int, float], low: float, high: float) -> None:
        """Add a row; columns with a zero coefficient are dropped."""
        self.rows.append(make_row(name, terms, low, high))

    def solve(
        self,
        costs: Mapping[int, float],
        *,
        extra: Sequence[Row] = (),
        keep: Collection[int] | None = None,
        relax: Collection[int] = (),
        start: Mapping[int, float] | None = None,
        abs_gap: float = 1e-6,
    ) -> Outcome:
        """Minimise ``sum cost * column``.

        Parameters
        ----------
        costs : mapping of column to cost
        extra : sequence of Row
            Further rows for this call alone.
        keep : collection of int, optional
            Columns taken along; the others stand at zero.
        relax : collection of int
            Whole columns that may take any value in this call.
        start : mapping of column to value, optional
            A known answer to begin from.
        abs_gap : float
            Two answers closer than this count as equally good.
        """
        columns = sorted(keep) if keep is not None else list(range(len(self.names)))
        place = {column: index for index, column in enumerate(columns)}
        whole = [self.whole[c] and c not in relax for c in columns]
        solver = _solver(abs_gap)
        solver.passModel(self._model(costs, [*self.rows, *extra], columns, place, whole))
        if start is not None:
            guess = _highspy().HighsSolution()
            guess.col_value = [start.get(column, 0.0) for column in columns]
            solver.setSolution(guess)
        solver.run()
        return _outcome(solver, columns, is_mip=any(whole))

    def _model(
        self,
        costs: Mapping[int, float],
        rows: Sequence[Row],
        columns: Sequence[int],
        place: Mapping[int, int],
        whole: Sequence[bool],
    ) -> Any:  # noqa: ANN401 -- the binding is untyped
        hp = _highspy()
        model = hp.HighsLp()
        model.num_col_ = len(columns)
        model.col_cost_ = [costs.get(column, 0.0) for column in columns]
        model.col_lower_ = [self.lower[column] for column in columns]
        model.col_upper_ = [self.upper[column] for column in columns]
        model.integrality_ = [
            hp.HighsVarType.kInteger if is_whole else hp.HighsVarType.kContinuous
            for is_whole in whole
        ]
        starts, indices, values, low, high = [0], [], [], [], []
        for row in rows:
            terms = [(place[c], v) for c, v in row.terms if c in place]
            # an empty row binds nothing unless it asks for something
            if not terms and row.low <= 0 <= row.high:
                continue
            indices += [index for index, _ in terms]
            values += [value for _, value in terms]
            starts.append(len(indices))
            low.append(row.low)
            high.append(row.high)
        model.num_row_ = len(low)
        model.row_lower_, model.row_upper_ = low, high
        matrix = model.a_matrix_
        matrix.format_ = hp.MatrixFormat.kRowwise
        matrix.num_col_, matrix.num_row_ = len(columns), len(low)
        matrix.start_, matrix.index_, matrix.value_ = starts, indices, values
        return model


@cache
def _highspy() -> Any:  # noqa: ANN401 -- the binding is untyped
    # imported late: it loads numpy, which a help text does not need
    import highspy  # noqa: PLC0415

    return highspy


@cache
def _quiet_class() -> Any:  # noqa: ANN401
    highs = _highspy().Highs

    class Quiet(highs):  # type: ignore[misc, valid-type]
        """HiGHS without the callbacks, whose setting up prints a banner to standard output."""

        def __init__(self) -> None:
            super(highs, self).__init__()
            self.setOptionValue("output_flag", False)  # noqa: FBT003 -- positional only

    return Quiet


def _solver(abs_gap: float) -> Any:  # noqa: ANN401
    solver = _quiet_class()()
    for option, value in (
        ("threads", 1),
        ("random_seed", 7),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", abs_gap),
        ("mip_max_nodes", _NODES),
        # small models with a good first answer: these cost more than they find
        ("mip_allow_restart", False),
        ("mip_heuristic_run_feasibility_jump", False),
        ("mip_heuristic_run_rens", False),
        ("mip_heuristic_run_rins", False),
        ("mip_heuristic_run_root_reduced_cost", False),
        ("mip_feasibility_tolerance", 1e-9),
        ("primal_feasibility_tolerance", 1e-9),
        ("dual_feasibility_tolerance", 1e-9),
    ):
        solver.setOptionValue(option, value)
    return solver


def _outcome(solver: Any, columns: Sequence[int], *, is_mip: bool) -> Outcome:  # noqa: ANN401
    status = solver.getModelStatus()
    info = solver.getInfo()
    if status == _highspy().HighsModelStatus.kOptimal:
        word = "optimal"
    elif info.primal_solution_status == _FEASIBLE:
        word = "limit"
    else:
        return Outcome("infeasible")
    answer = solver.getSolution()
    objective = info.objective_function_value
    return Outcome(
        word,
        objective,
        info.mip_dual_bound if is_mip else objective,
        dict(zip(columns, answer.col_value, strict=True)),
        {} if is_mip else dict(zip(columns, answer.col_dual, strict=True)),
    )
