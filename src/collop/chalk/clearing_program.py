"""The program of clearing prices, handed to a conic solver; it returns amounts and worths.

    max  sum_j [value_j(q_j) - making_j q_j] - sum_a labour_a x_a
    s.t. q_j <= on_hand_j + sum_a y_aj x_a      dual mu_j: worth of one more unit of cut j
         sum_{a on k} x_a <= S_k                dual pi_k: worth of one more unit of supply k
         q_j <= D_j(floor_j),   q, x >= 0

With v = 1 - 1/e, takings are t <= u^v, a power cone (u, 1, t).  The area under an inelastic curve
beyond its cap is (1 - s)/b with s >= y^-b and b = 1/e - 1: the power cone (y, s, 1) with exponent
1 - e; at e = 1 it is log y: an exponential cone.  Every cut is measured in a weight of its own
(what there can be of it, or what sells at its cap), so that the figures are near 1.

Nothing here is trusted: `collop.chalk.clearing_proof` checks the answer without the solver.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from collop.chalk.clearing_curves import Curve
from collop.chalk.clearing_reading import Market

__all__ = ["STRETCHES", "Answer", "solve"]

#: Scales of the objective, to be tried in turn. Where prices and weights spanned six powers of ten,
#: a single one left 16 to 67 of 600 random markets unproven, all of them together none of 400.
STRETCHES = (100.0, 1.0, 1000.0, 1e6)
_TOLERANCE = 1e-10
_MOST_ROUNDS = 300
_MOST_SECONDS = 20.0


@dataclass(frozen=True, slots=True)
class Answer:
    """What the solver found.

    Parameters
    ----------
    quantities, worths : tuple of float, shape (cuts,)
        Sold weight and dual mu; 0 for a cut of which there can be none.
    levels : tuple of float, shape (activities,)
        Weight cut up.
    """

    quantities: tuple[float, ...]
    worths: tuple[float, ...]
    levels: tuple[float, ...]


@dataclass(slots=True)
class _Program:
    """Rows of min c'z s.t. b - A z in a cone; `rows` holds (columns, right side) by cone."""

    costs: list[float] = field(default_factory=list)
    within: list[tuple[dict[int, float], float]] = field(default_factory=list)
    cones: list[tuple[tuple[str, float], list[tuple[dict[int, float], float]]]] = field(
        default_factory=list
    )

    def column(self, gain: float, *, at_least_zero: bool = True, at_most: float = 0.0) -> int:
        index = len(self.costs)
        self.costs.append(-gain)
        if at_least_zero:
            self.within.append(({index: -1.0}, 0.0))
        if at_most:
            self.within.append(({index: 1.0}, at_most))
        return index

    def row(self, columns: dict[int, float], right: float) -> int:
        """Add sum of columns <= right; return its place among such rows."""
        self.within.append((columns, right))
        return len(self.within) - 1


@dataclass(frozen=True, slots=True)
class _Placed:
    """One cut in the program: its row, the columns that sum to what is sold, and their unit."""

    row: int
    sold: tuple[int, ...]
    unit: float


def solve(market: Market, stretch: float = STRETCHES[0]) -> Answer:
    """Solve the program.

    Parameters
    ----------
    market : Market
        At least one cut can be had.
    stretch : float
        The largest cost in the objective, for the solver's sake; the answer does not depend on it.

    Returns
    -------
    Answer
        Near the optimum if the solver did its work; unchecked.
    """
    supply = [float(one.weight) for one in market.supplies]
    can = _most_of_each(market)
    program = _Program()
    levels = {
        index: program.column(-float(one.labour) * supply[one.source])
        for index, one in enumerate(market.activities)
        if supply[one.source] > 0
    }
    for source in range(len(supply)):
        taking = {col: 1.0 for a, col in levels.items() if market.activities[a].source == source}
        if taking:
            program.row(taking, 1.0)
    makes: list[dict[int, float]] = [{} for _ in market.cuts]
    for index, column in levels.items():
        one = market.activities[index]
        for cut, share in one.gives:
            makes[cut][column] = float(share) * supply[one.source]
    placed = {
        index: _place(program, cut.curve(), can[index], (makes[index], float(cut.on_hand)))
        for index, cut in enumerate(market.cuts)
        if can[index] > 0
    }
    found, duals, scale = _run(program, stretch)
    if not all(map(math.isfinite, (*found, *duals))):
        return Answer((math.nan,) * len(can), (math.nan,) * len(can), ())
    weights, worths = [0.0] * len(can), [0.0] * len(can)
    for index, spot in placed.items():
        weights[index] = max(0.0, sum(found[column] for column in spot.sold) * spot.unit)
        worths[index] = max(0.0, duals[spot.row] * scale / spot.unit)
    ways = [0.0] * len(market.activities)
    for index, column in levels.items():
        ways[index] = max(0.0, found[column]) * supply[market.activities[index].source]
    return Answer(tuple(weights), tuple(worths), tuple(ways))


def _most_of_each(market: Market) -> list[float]:
    """Return how much of each cut there could be at most, shape (cuts,)."""
    can = [float(cut.on_hand) for cut in market.cuts]
    for one in market.activities:
        for cut, share in one.gives:
            can[cut] += float(share * market.supplies[one.source].weight)
    return can


def _place(
    program: _Program, curve: Curve, can: float, made: tuple[dict[int, float], float]
) -> _Placed:
    """Add the columns, cone and row of one cut."""
    most = min(can, curve.most)
    # a bound that only repeats the supply would take its worth away from the supply
    bounded = curve.most < can
    sold: tuple[int, ...]
    if curve.at_cap >= most:
        unit = most
        gain = (curve.cap - curve.making) * most
        sold = (program.column(gain, at_most=1.0 if bounded else 0.0),)
    elif curve.clears:
        unit = curve.at_cap
        sold = _clearing_columns(program, curve, most / unit if bounded else 0.0)
    else:
        unit, sold = most, (_takings_columns(program, curve, most, bounded=bounded),)
    makes, on_hand = made
    row = dict.fromkeys(sold, 1.0) | {col: -share / unit for col, share in makes.items()}
    return _Placed(program.row(row, on_hand / unit), sold, unit)


def _takings_columns(program: _Program, curve: Curve, most: float, *, bounded: bool) -> int:
    """Add u = q / most and t <= u^(1 - 1/e), under the cap's line; return the column of u."""
    price = curve.free_price(most)
    sold = program.column(-curve.making * most, at_most=1.0 if bounded else 0.0)
    takings = program.column(price * most, at_least_zero=False)
    program.cones.append(
        (
            ("power", 1 - 1 / curve.e),
            [({sold: -1.0}, 0.0), ({}, 1.0), ({takings: -1.0}, 0.0)],
        )
    )
    if curve.at_cap > 0:
        program.row({takings: price / curve.cap, sold: -1.0}, 0.0)
    return sold


def _clearing_columns(program: _Program, curve: Curve, ceiling: float) -> tuple[int, ...]:
    """Add the weight sold at the cap and the weight beyond it, in units of what the cap sells."""
    money = curve.cap * curve.at_cap
    cost = curve.making * curve.at_cap
    under = program.column(money - cost, at_most=1.0)
    beyond = program.column(-cost, at_most=max(0.0, ceiling - 1))
    bend = 1 / curve.e - 1
    if bend:
        missed = program.column(-money / bend, at_least_zero=False)
        cone = [({beyond: -1.0}, 1.0), ({missed: -1.0}, 0.0), ({}, 1.0)]
        program.cones.append((("power", 1 - curve.e), cone))
    else:
        more = program.column(money, at_least_zero=False)
        cone = [({more: -1.0}, 0.0), ({}, 1.0), ({beyond: -1.0}, 1.0)]
        program.cones.append((("exponential", 0.0), cone))
    return under, beyond


def _run(program: _Program, stretch: float) -> tuple[list[float], list[float], float]:
    """Return columns, duals of the rows, and the money that one unit of cost stands for."""
    import clarabel  # noqa: PLC0415 -- heavy: only when prices are to be cleared
    import numpy as np  # noqa: PLC0415
    from scipy import sparse  # noqa: PLC0415

    scale = (max(abs(cost) for cost in program.costs) or 1.0) / stretch
    rows = [*program.within, *(row for _, cone in program.cones for row in cone)]
    entries = [(i, j, value) for i, (cells, _) in enumerate(rows) for j, value in cells.items()]
    at, columns, values = zip(*entries, strict=True)
    shape = (len(rows), len(program.costs))
    matrix = sparse.csc_matrix((values, (at, columns)), shape=shape)
    cones: list[Any] = [clarabel.NonnegativeConeT(len(program.within))]
    for (kind, exponent), _ in program.cones:
        cones.append(
            clarabel.PowerConeT(exponent) if kind == "power" else clarabel.ExponentialConeT()
        )
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.max_iter, settings.time_limit = _MOST_ROUNDS, _MOST_SECONDS
    settings.max_threads = 1
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = _TOLERANCE
    solver = clarabel.DefaultSolver(
        sparse.csc_matrix((shape[1], shape[1])),
        np.array(program.costs) / scale,
        matrix,
        np.array([right for _, right in rows]),
        cones,
        settings,
    )
    found = solver.solve()
    return list(found.x), list(found.z), scale
