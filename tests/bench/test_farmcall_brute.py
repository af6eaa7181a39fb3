"""The order against every order there is, each week worked out by another program."""

from __future__ import annotations

import pytest
from farm_calls import every_order, tiny

from collop.bench.farm_checker import check_farmcall
from collop.bench.farm_reading import read_farmcall
from collop.bench.farmcall import farmcall


@pytest.mark.parametrize("seed", range(60))
def test_no_other_order_brings_more(seed):
    """Over all numbers that fit, with weeks by scipy over pure cutting patterns: the same best."""
    problem = tiny(seed)
    plan = farmcall(problem)
    values = every_order(problem)
    counts = tuple(one["count"] for one in plan["orders"])
    best = max(values.values())
    assert float(plan["proof"]["objective"]) == pytest.approx(best, abs=0.02, rel=1e-7)
    assert values[counts] == pytest.approx(best, abs=0.01, rel=1e-7)
    assert plan["proof"]["status"] == "optimal"
    assert check_farmcall(read_farmcall(problem), plan) == []


def test_the_instances_are_of_many_kinds():
    """The sixty order different numbers, and in some the rail, a least or a shortage rules."""
    plans = [farmcall(tiny(seed)) for seed in range(60)]
    assert len({tuple(one["count"] for one in plan["orders"]) for plan in plans}) >= 6
    assert any(plan["room"]["binds"] for plan in plans)
    assert any(plan["standing"][0]["gets"] != plan["standing"][0]["asks"] for plan in plans)
    assert any(float(plan["money"]["overtime"]) for plan in plans)
    assert any(float(plan["money"]["kept"]) for plan in plans)
