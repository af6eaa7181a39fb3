"""The linear program of a blend: least cost, or most money, within all limits at once.

    min  sum (price_b + cost of what is added) x_rb  -  takings of what need not be made
    with every limit of `collop.bench.blending_bounds`
         sum_r x_rb       <= what the bin holds
         k_r sum_b x_rb    = the finished weight wanted, or <= the most of it

The worths that come out bound every answer from below in exact fractions (weak duality), so the
answer is proven without the solver's word for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.bench.blending_amounts import PER_UNIT
from collop.bench.blending_bounds import Bound
from collop.bench.blending_problem import Blend, Recipe
from collop.errors import PlanRejected
from collop.solver import highspy, new_solver

__all__ = [
    "Answer",
    "Line",
    "Model",
    "limit_line",
    "lowest_cost",
    "quiet_solver",
    "solve",
    "solve_lines",
]

#: Tighter than this, HiGHS 1.16 drops answers and calls worse ones optimal.
TOLERANCE = 1e-7
_NODES = 20_000
_GAP = Fraction(1, 1_000_000)


@dataclass(frozen=True, slots=True)
class Line:
    """``low <= sum coefficient * column <= high``, exactly; None is no end."""

    low: Fraction | None
    high: Fraction | None
    terms: tuple[tuple[int, Fraction], ...]


@dataclass(frozen=True, slots=True)
class Model:
    """The program of a blend.

    Parameters
    ----------
    pairs : tuple of (int, int)
        Recipe and bin of each column; its value is weight in the unit.
    costs, most : tuple of Fraction
        Money per unit of each column, and the most it can be.
    lines : tuple of Line
        The limits, then the bins that have an end, then the weights wanted.
    bounds : int
        How many of the lines are limits.
    ends : tuple of int
        Index of the bin of each of the lines that follow them.
    """

    pairs: tuple[tuple[int, int], ...]
    costs: tuple[Fraction, ...]
    most: tuple[Fraction, ...]
    lines: tuple[Line, ...]
    bounds: int
    ends: tuple[int, ...]

    @classmethod
    def of(cls, blend: Blend, bounds: Sequence[Bound]) -> Model:
        """Return the program of a blend under these limits."""
        pairs = tuple((r, b) for r, one in enumerate(blend.recipes) for b in one.bins)
        place = {pair: column for column, pair in enumerate(pairs)}
        factors = [one.finished_per_meat for one in blend.recipes]
        lines = [limit_line(bound, factors[bound.recipe], place) for bound in bounds]
        ends = tuple(b for b, one in enumerate(blend.bins) if one.available is not None)
        for b in ends:
            users = tuple((column, Fraction(1)) for column, (_, of) in enumerate(pairs) if of == b)
            lines.append(Line(None, Fraction(blend.bins[b].available or 0, PER_UNIT), users))
        for r, recipe in enumerate(blend.recipes):
            size = recipe.make or recipe.most
            if size is not None:
                weight = Fraction(size, PER_UNIT)
                low = weight if recipe.make else None
                terms = tuple((place[r, b], factors[r]) for b in recipe.bins)
                lines.append(Line(low, weight, terms))
        around = [_around(one) for one in blend.recipes]
        return cls(
            pairs=pairs,
            costs=tuple(blend.bins[b].price + around[r] for r, b in pairs),
            most=tuple(_most(blend, r, b, factors[r]) for r, b in pairs),
            lines=tuple(lines),
            bounds=len(bounds),
            ends=ends,
        )


def limit_line(bound: Bound, factor: Fraction, place: Mapping[tuple[int, int], int]) -> Line:
    """Return the line of a limit.

    Parameters
    ----------
    bound : Bound
        The limit.
    factor : Fraction
        Finished weight per unit of meat of its recipe.
    place : mapping
        Column of each recipe and bin.
    """
    terms = bound.terms(factor)
    found = tuple((place[bound.recipe, b], value) for b, value in terms.items() if value)
    return Line(None, Fraction(0), found)


def _around(recipe: Recipe) -> Fraction:
    """Return what a unit of meat costs beside itself, less what it takes if it need not be made."""
    cost = recipe.cost_per_meat
    if recipe.make is None and recipe.price is not None:
        cost -= recipe.price * recipe.finished_per_meat
    return cost


def _most(blend: Blend, r: int, b: int, factor: Fraction) -> Fraction:
    recipe = blend.recipes[r]
    size, available = recipe.make or recipe.most, blend.bins[b].available
    ends = [] if available is None else [Fraction(available, PER_UNIT)]
    if size is not None:
        ends.append(Fraction(size, PER_UNIT) / factor)
    return min(ends)


@dataclass(frozen=True, slots=True)
class Answer:
    """What the solver found.

    Parameters
    ----------
    cost : Fraction
        Of `values`, less takings of what need not be made.
    bound : Fraction
        What no answer can cost less than, from the worths alone.
    values, reduced : tuple of float
        Weight in each column; what one unit of it would add to the cost.
    worths : tuple of float
        Of each line: what one more unit on its right-hand side changes the cost by.
    """

    cost: Fraction
    bound: Fraction
    values: tuple[float, ...]
    reduced: tuple[float, ...]
    worths: tuple[float, ...]


def solve(model: Model) -> Answer | None:
    """Return the answer of least cost, proven; None if no answer keeps every limit.

    Raises
    ------
    PlanRejected
        If the worths do not prove the answer to a millionth.
    """
    found = solve_lines(model.costs, model.most, model.lines)
    if found is None:
        return None
    values, reduced, worths = found
    cost = sum((c * Fraction(v) for c, v in zip(model.costs, values, strict=True)), Fraction(0))
    bound = lowest_cost(model, worths)
    if cost - bound > _GAP * max(Fraction(1), abs(cost)):
        raise PlanRejected("The blend could not be proven to be the best; no plan is shown.")
    return Answer(cost, bound, values, reduced, worths)


def lowest_cost(model: Model, worths: Sequence[float]) -> Fraction:
    """Return what no answer can cost less than, by weak duality, in exact fractions.

    For any worths y of the lines (none above zero where a line has only a high end), each answer
    costs at least sum y_i b_i + sum_j min(0, c_j - sum_i y_i a_ij) u_j with u_j the most of x_j.
    """
    reduced = list(model.costs)
    total = Fraction(0)
    for line, worth in zip(model.lines, worths, strict=True):
        exact = Fraction(worth) if line.low is not None else min(Fraction(0), Fraction(worth))
        total += exact * (line.high or 0)
        for column, value in line.terms:
            reduced[column] -= exact * value
    return total + sum(
        (cost * most for cost, most in zip(reduced, model.most, strict=True) if cost < 0),
        Fraction(0),
    )


def quiet_solver() -> Any:  # noqa: ANN401
    """Return a solver: one thread, a fixed seed, no time limit, so the same answer each time."""
    return new_solver(TOLERANCE, {"mip_rel_gap": 0.0, "mip_abs_gap": 1e-6, "mip_max_nodes": _NODES})


def solve_lines(
    costs: Sequence[Fraction],
    most: Sequence[Fraction],
    lines: Sequence[Line],
    *,
    least: Sequence[int] | None = None,
    whole: Sequence[bool] | None = None,
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]] | None:
    """Minimise costs over columns from `least` (zero) to `most`.

    Returns
    -------
    tuple or None
        Values and reduced costs of the columns, worths of the lines; None without an answer.

    Raises
    ------
    PlanRejected
        If the solver can tell neither an answer nor that there is none.
    """
    hp = highspy()
    model = hp.HighsLp()
    model.num_col_, model.num_row_ = len(costs), len(lines)
    model.col_cost_ = [float(cost) for cost in costs]
    model.col_lower_ = [float(low) for low in least] if least else [0.0] * len(costs)
    model.col_upper_ = [float(one) for one in most]
    if whole is not None:
        kinds = hp.HighsVarType
        model.integrality_ = [kinds.kInteger if one else kinds.kContinuous for one in whole]
    model.row_lower_ = [-hp.kHighsInf if one.low is None else float(one.low) for one in lines]
    model.row_upper_ = [hp.kHighsInf if one.high is None else float(one.high) for one in lines]
    matrix = model.a_matrix_
    matrix.format_ = hp.MatrixFormat.kRowwise
    matrix.num_col_, matrix.num_row_ = len(costs), len(lines)
    starts = [0]
    for one in lines:
        starts.append(starts[-1] + len(one.terms))
    matrix.start_ = starts
    matrix.index_ = [column for one in lines for column, _ in one.terms]
    matrix.value_ = [float(value) for one in lines for _, value in one.terms]
    solver = quiet_solver()
    solver.passModel(model)
    solver.run()
    status, known = solver.getModelStatus(), hp.HighsModelStatus
    if status != known.kOptimal:
        # every column has an end, so "unbounded or infeasible" is infeasible
        if whole or status in (known.kInfeasible, known.kUnboundedOrInfeasible):
            return None
        raise PlanRejected("The blend could not be worked out; no plan is shown.")
    found = solver.getSolution()
    return tuple(found.col_value), tuple(found.col_dual), tuple(found.row_dual)
