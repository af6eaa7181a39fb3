"""The solver layer against enumeration: 0-1 programs of twelve columns.

Versions 1.13 and 1.14 of the solver called wrong integer answers optimal; a new version must keep
passing here before it is used.
"""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from collop.spread.program import Program, make_row
from collop.spread.proving import Gate, prove

COLUMNS = 12
POINTS = np.array(list(itertools.product((0, 1), repeat=COLUMNS)))


def random_program(seed):
    """Return (program, costs, rows as arrays): covers, packings and one balance."""
    rng = random.Random(seed)
    program = Program()
    for index in range(COLUMNS):
        program.column(f"x{index}", 0, 1, whole=True)
    costs = [rng.randint(-20, 60) for _ in range(COLUMNS)]
    rows = []
    for number in range(rng.randint(2, 6)):
        weights = [rng.choice((0, rng.randint(-9, 30))) for _ in range(COLUMNS)]
        some = sum(weight for weight in weights if rng.random() < 0.5)
        low, high = rng.choice(((some, np.inf), (-np.inf, some), (some - 5, some + 5)))
        rows.append((weights, low, high))
        program.row(f"row{number}", dict(enumerate(weights)), low, high)
    return program, costs, rows


def by_trying(costs, rows):
    """Return the least cost over all 4096 points, or None."""
    kept = np.ones(len(POINTS), dtype=bool)
    for weights, low, high in rows:
        sums = POINTS @ np.array(weights)
        kept &= (sums >= low) & (sums <= high)
    return int((POINTS[kept] @ np.array(costs)).min()) if kept.any() else None


@pytest.mark.parametrize("block", range(10))
def test_a_program_of_yes_and_no_has_the_answer_found_by_trying_all(block):
    """Twenty programs each: status, objective, bound and the point itself."""
    for seed in range(20 * block, 20 * block + 20):
        program, costs, rows = random_program(seed)
        best = by_trying(costs, rows)
        found = program.solve(dict(enumerate(costs)))
        assert (found.status == "optimal") == (best is not None), seed
        if best is None:
            assert found.status == "infeasible"
            continue
        assert abs(found.objective - best) < 1e-6, seed
        assert abs(found.bound - best) < 1e-3, seed
        point = [round(found.values[index]) for index in range(COLUMNS)]
        assert set(point) <= {0, 1}
        assert sum(c * x for c, x in zip(costs, point, strict=True)) == best
        for weights, low, high in rows:
            assert low <= sum(w * x for w, x in zip(weights, point, strict=True)) <= high


def test_both_kinds_of_program_are_tried():
    """Of the two hundred, some have an answer and some have none."""
    found = [by_trying(*random_program(seed)[1:]) for seed in range(200)]
    assert 20 <= found.count(None) <= 180


def gated_program(seed):
    """Return six gates with up to three steps each, their costs and the need."""
    rng = random.Random(seed)
    program, gates, costs, gains = Program(), [], {}, {}
    for index in range(6):
        amount = program.column(f"amount{index}", 0, 3, whole=True)
        use = program.column(f"use{index}", 0, 1, whole=True)
        least = rng.choice((1, 2))
        program.row("most", {amount: 1, use: -3}, -np.inf, 0)
        program.row("least", {amount: 1, use: -least}, 0, np.inf)
        gates.append(Gate(use, (amount,), least, by_weight=rng.random() < 0.5))
        costs[amount], gains[amount] = rng.randint(1, 30), rng.randint(1, 9)
    need = rng.randint(3, 60)
    program.row("need", gains, need, np.inf)
    program.row("items", {gate.use: 1 for gate in gates}, 1, rng.choice((2, 3, 6)))
    return program, gates, costs, gains, need


@pytest.mark.parametrize("block", range(6))
def test_solving_in_stages_finds_what_trying_all_finds(block):
    """Ten gated programs each: the staged proof never loses the best answer."""
    for seed in range(10 * block, 10 * block + 10):
        program, gates, costs, gains, need = gated_program(seed)
        most = next(row.high for row in program.rows if row.name == "items")
        best = None
        for steps in itertools.product(range(4), repeat=6):
            used = [gate for gate, n in zip(gates, steps, strict=True) if n]
            if not 1 <= len(used) <= most:
                continue
            if any(0 < n < gate.least for gate, n in zip(gates, steps, strict=True)):
                continue
            gained = sum(gains[g.amounts[0]] * n for g, n in zip(gates, steps, strict=True))
            cost = sum(costs[g.amounts[0]] * n for g, n in zip(gates, steps, strict=True))
            if gained >= need and (best is None or cost < best):
                best = cost
        found = prove(program, gates, costs, abs_gap=0.5)
        assert (found.status != "infeasible") == (best is not None), seed
        if best is not None:
            assert (found.status, round(found.objective)) == ("optimal", best), seed


def test_a_row_for_one_call_is_forgotten_after_it():
    """An extra row binds once; the program itself does not change."""
    program = Program()
    column = program.column("x", 0, 9, whole=True)
    costs = {column: -1.0}
    tight = make_row("at most four", {column: 1.0}, -np.inf, 4)
    assert program.solve(costs, extra=[tight]).objective == -4
    assert program.solve(costs).objective == -9
    assert program.rows == []


def test_columns_left_out_stand_at_zero_and_relaxed_ones_take_any_value():
    """`keep` fixes the rest at zero; `relax` drops wholeness for one call."""
    program = Program()
    one, two = (program.column(name, 0, 9, whole=True) for name in ("one", "two"))
    program.row("half", {one: 2.0, two: 2.0}, 3, np.inf)
    costs = {one: 1.0, two: 3.0}
    assert program.solve(costs).objective == 2
    assert program.solve(costs, keep=[two]).objective == 6
    assert program.solve(costs, relax=[one]).objective == pytest.approx(1.5)
    assert program.solve(costs, keep=[]).status == "infeasible"


def test_the_gap_of_an_answer_is_never_negative():
    """The gap is measured on the answer; without one it is without end."""
    program = Program()
    column = program.column("x", 0, 1, whole=True)
    assert program.solve({column: -1.0}).gap == 0
    program.row("never", {column: 1.0}, 2, 3)
    assert program.solve({column: -1.0}).gap == np.inf
