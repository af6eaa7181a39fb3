"""Measure the schedule: constraint program against an ordinary minute-indexed integer program.

Run ``python benchmarks/fire/schedule.py [--seeds N] [--items 8 15]``. Times are processor time of
this process in milliseconds, libraries loaded before; building the model counts.
"""

from __future__ import annotations

import argparse
import gc
import math
import random
import statistics
import time
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any, TypeVar

import numpy as np

from collop.fire.checker import check_laying
from collop.fire.laying import Laying
from collop.fire.problem import Course, FireItem, FireProblem, Serving, StageTime, Zone
from collop.fire.schedule import Refusal, lay
from collop.fire.scheduling import TRAY_MIN, Found, solve
from collop.fire.scheduling_loads import CHANGEOVER_MIN, Lot, lots_of, planned_minutes, runs_of
from collop.solver import highspy, new_solver

T = TypeVar("T")
SUPPER = datetime(2026, 6, 13, 19, 0)  # noqa: DTZ001 -- local time of the kitchen
SAMPLES = 1_000
QUANTILE = 0.9
NODES = 20_000
# cook_as, method, heats, 10th and 90th percentile of each stage [min], area [sq in], rest, hold
DISHES = (
    ("poultry", ("indirect",), [(45, 60)], 140, 5, 30),
    ("poultry", ("indirect", "direct"), [(25, 35), (3, 6)], 90, 5, 20),
    ("whole", ("direct",), [(9, 14)], 90, 3, 10),
    ("whole", ("direct",), [(4, 6)], 60, 3, 5),
    ("whole", ("indirect", "direct"), [(60, 85), (4, 7)], 110, 15, 45),
    ("ground", ("indirect", "direct"), [(12, 18), (3, 5)], 60, 0, 20),
    ("whole", ("oven", "direct"), [(120, 170), (4, 6)], 80, 10, 45),
    ("none", ("direct",), [(8, 12)], 50, 0, 20),
)


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Return processor time [ms] and result."""
    gc.collect()
    start = time.process_time()
    result = work()
    return 1000 * (time.process_time() - start), result


def supper(seed: int, items: int) -> tuple[FireProblem, dict[str, Course]]:
    """Return an invented fire: two counted grills, an oven, one pair of hands, two meals."""
    rng = random.Random(seed)
    draws = np.random.Generator(np.random.PCG64(seed))
    common = draws.standard_normal(SAMPLES)
    drum, kettle = 60 * items, 25 * items
    zones = (
        Zone("drum", "Drum", frozenset({"direct", "indirect"}), Fraction(drum), minutes=240),
        Zone("kettle", "Kettle", frozenset({"direct"}), Fraction(kettle)),
        Zone("oven", "Oven", frozenset({"oven"}), None),
    )
    chosen, courses = [], {}
    for place in range(items):
        cook_as, heats, bands, area, rest, hold = rng.choice(DISHES)
        name = f"dish {place}"
        chosen.append(FireItem(
            id=name, name=name, species=None, serving=rng.choice(["first", "first", "second"]),
            weight_mlb=4000, area_sq_in=Fraction(area * rng.choice([2, 3, 4]), 3), cook_as=cook_as,
            method="direct", pieces=4,
        ))  # fmt: skip
        stages = []
        for heat, (low, high) in zip(heats, bands, strict=True):
            z = math.sqrt(0.5) * (common + draws.standard_normal(SAMPLES))
            spread = math.log(high / low) / 2.563
            stages.append(StageTime(heat, math.sqrt(low * high) * np.exp(spread * z)))
        core = None if cook_as == "none" else 74.0
        courses[name] = Course(tuple(stages), core, core, rest, hold, None, None, "shop")
    servings = (Serving("first", SUPPER, 0), Serving("second", SUPPER + timedelta(minutes=45), 45))
    return FireProblem("Bench", servings, zones, tuple(chosen)), courses


class Minutes:
    """The same fire as an ordinary integer program: one 0/1 column for each load and minute."""

    def __init__(self, problem: FireProblem, courses: dict[str, Course]) -> None:
        self.problem = problem
        self.zones = {zone.id: zone for zone in problem.zones}
        self.lots = []
        for item in problem.items:
            minutes = planned_minutes(courses[item.id], QUANTILE)
            modes = lots_of(item, courses[item.id], problem, minutes or ())
            self.lots += modes[min(modes)]
        self.costs: list[float] = []
        self.upper: list[float] = []
        self.lower: list[float] = []
        self.whole: list[bool] = []
        self.rows: list[tuple[float, float, dict[int, float]]] = []

    def column(self, cost: float, low: float, high: float, *, whole: bool) -> int:
        """Add a column and return its number."""
        self.costs.append(cost)
        self.lower.append(low)
        self.upper.append(high)
        self.whole.append(whole)
        return len(self.costs) - 1

    def choices(self, lot: Lot) -> Iterator[tuple[int, tuple[str, ...], int]]:
        """Yield a column for each wait and route of a load."""
        for wait in range(lot.hold + 1):
            for way in lot.routes:
                yield wait, way, self.column(wait, 0, 1, whole=True)

    def build(self) -> None:
        """Write all rows."""
        area: dict[tuple[str, int], dict[int, float]] = {}
        hands: dict[int, dict[int, float]] = {}
        meat = {z.id: self.column(0, -2000, 2000, whole=False) for z in self.problem.zones}
        lit = {z.id: self.column(0, -2000, 2000, whole=False)
               for z in self.problem.zones if z.minutes is not None}  # fmt: skip
        for lot in self.lots:
            self._lot(lot, area, hands, meat, lit)
        for (zone, _), terms in area.items():
            self.rows.append((-math.inf, float(self.zones[zone].area_sq_in or 0), terms))
        for terms in hands.values():
            self.rows.append((-math.inf, self.problem.hands, terms))

    def _lot(
        self,
        lot: Lot,
        area: dict[tuple[str, int], dict[int, float]],
        hands: dict[int, dict[int, float]],
        meat: dict[str, int],
        lit: dict[str, int],
    ) -> None:
        one: dict[int, float] = {}
        first: dict[str, dict[int, float]] = {}
        last: dict[str, dict[int, float]] = {}
        for wait, way, column in self.choices(lot):
            one[column] = 1.0
            start = lot.base - wait
            offset = 0
            for length in (0, *lot.minutes):
                offset += length
                hands.setdefault(start + offset, {})[column] = 1.0
            for run in runs_of(way, lot.minutes):
                first.setdefault(run.zone, {})[column] = start + run.begin
                last.setdefault(run.zone, {})[column] = start + run.end
                if self.zones[run.zone].area_sq_in is not None:
                    for minute in range(start + run.begin, start + run.end + CHANGEOVER_MIN):
                        area.setdefault((run.zone, minute), {})[column] = float(lot.area_sq_in)
        self.rows.append((1, 1, one))
        tray = self.column(TRAY_MIN, 0, 1, whole=True) if lot.item.is_meat_free else None
        for zone, starts in first.items():
            self._order(zone, starts, last[zone], tray=tray, meat=meat, lit=lit)

    def _order(
        self,
        zone: str,
        starts: dict[int, float],
        ends: dict[int, float],
        *,
        tray: int | None,
        meat: dict[str, int],
        lit: dict[str, int],
    ) -> None:
        """Tie starts and ends in a zone to its first use and its first meat; not there: free."""
        big = 4000.0
        there = dict.fromkeys(starts, big)
        at_start = {column: value - there[column] for column, value in starts.items()}
        at_end = {column: value + there[column] for column, value in ends.items()}
        if zone in lit:
            most = self.zones[zone].minutes or 0
            self.rows.append((-math.inf, big, _less({lit[zone]: 1.0}, at_start)))
            self.rows.append((-math.inf, most + big, {**at_end, lit[zone]: -1.0}))
        if tray is None:
            self.rows.append((-math.inf, big, _less({meat[zone]: 1.0}, at_start)))
        else:
            self.rows.append((-math.inf, big, {**at_end, meat[zone]: -1.0, tray: -big}))

    def solve(self) -> tuple[str, float]:
        """Return status and least waiting."""
        self.build()
        solver = new_solver(
            1e-7, {"mip_rel_gap": 0.0, "mip_abs_gap": 0.999, "mip_max_nodes": NODES}
        )
        solver.passModel(self.model())
        solver.run()
        return solver.modelStatusToString(solver.getModelStatus()), solver.getObjectiveValue()

    def model(self) -> Any:  # noqa: ANN401 -- the binding is untyped
        """Return the program for the solver."""
        lp = highspy().HighsLp()
        lp.num_col_, lp.num_row_ = len(self.costs), len(self.rows)
        lp.col_cost_ = np.array(self.costs)
        lp.col_lower_, lp.col_upper_ = np.array(self.lower), np.array(self.upper)
        lp.row_lower_ = np.array([row[0] for row in self.rows], dtype=float)
        lp.row_upper_ = np.array([row[1] for row in self.rows], dtype=float)
        kinds = highspy().HighsVarType
        lp.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in self.whole]
        starts = np.cumsum([0] + [len(row[2]) for row in self.rows])
        lp.a_matrix_.format_ = highspy().MatrixFormat.kRowwise
        lp.a_matrix_.start_ = starts.astype(np.int32)
        lp.a_matrix_.index_ = np.array([c for row in self.rows for c in row[2]], dtype=np.int32)
        lp.a_matrix_.value_ = np.array([v for row in self.rows for v in row[2].values()])
        return lp


def _less(one: dict[int, float], other: dict[int, float]) -> dict[int, float]:
    return {**one, **{column: -value for column, value in other.items()}}


def table(name: str, ms: list[float]) -> str:
    """Return a row: median, 95th percentile, most."""
    ordered = sorted(ms)
    p95 = ordered[max(0, -(-95 * len(ordered) // 100) - 1)]
    return f"| {name} | {statistics.median(ms):.0f} | {p95:.0f} | {ordered[-1]:.0f} |"


def ordinary(problem: FireProblem, courses: dict[str, Course]) -> tuple[str, float]:
    """Build and solve the ordinary program."""
    return Minutes(problem, courses).solve()


def measure(items: int, seeds: int) -> None:
    """Print the table of one size."""
    ours: list[float] = []
    theirs: list[float] = []
    whole: list[float] = []
    kinds: dict[str, int] = {}
    proven = same = met = 0
    for seed in range(seeds):
        problem, courses = supper(seed, items)
        ms, found = timed(lambda: solve(problem, courses, QUANTILE))  # noqa: B023 -- called at once
        ours.append(ms)
        proven += found.status in {"optimal", "none"}
        ms, laid = timed(lambda: lay(problem, courses, why=False))  # noqa: B023
        whole.append(ms)
        kind = _kind(laid)
        kinds[kind] = kinds.get(kind, 0) + 1
        if isinstance(laid, Laying):
            assert not check_laying(problem, courses, laid)
            met += min(laid.ready.values()) >= problem.chance
        ms, (status, cost) = timed(lambda: ordinary(problem, courses))  # noqa: B023
        theirs.append(ms)
        same += _agree(found, status, cost)
    print(
        f"\n{items} items, {seeds} seeds: {proven} proven; {same} with the same answer both ways;"
    )
    print(f"laid: {kinds}, {met} of them as sure as was asked.\n")
    print("| | median | p95 | most |\n|---|---|---|---|")
    print(table("constraint program, one share of the samples", ours))
    print(table("the whole of `lay` (shares raised, more loads, rounds)", whole))
    print(table("minute-indexed integer program", theirs))
    ratio = statistics.median(theirs) / statistics.median(ours)
    print(f"\nThe integer program takes {ratio:.0f} times as long (medians).")


def _kind(laid: Laying | Refusal) -> str:
    if isinstance(laid, Refusal):
        return "no"
    return "in rounds" if laid.late_rounds else "yes"


def _agree(found: Found, status: str, cost: float) -> bool:
    """Tell whether both say the same: no plan, or plans of the same waiting."""
    if found.status == "none":
        return status == "Infeasible"
    return status == "Optimal" and found.status == "optimal" and round(cost) == found.cost


def main() -> None:
    """Measure every size."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--items", type=int, nargs="+", default=[8, 15])
    asked = parser.parse_args()
    warm, courses = supper(0, 3)
    solve(warm, courses, QUANTILE)
    ordinary(warm, courses)
    for items in asked.items:
        measure(items, asked.seeds)


if __name__ == "__main__":
    main()
