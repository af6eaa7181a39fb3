"""One animal that is one cut is a newsvendor's order: worked answers of O05, O06, O07 and O08.

O05 Matching Supply with Demand (Cachon and Terwiesch), solutions to ch. 12; O06 Newsvendor answer
(cost 140, profit 60, loss 30); O07 Newsvendor problems (mean 1000, sd 200); O08 Newsvendor
assignment (retail 20, purchase 14, salvage 5).  The quantities of the table are used: seen, or
computed from inputs that were seen, as each row says.
"""

from __future__ import annotations

import pytest
from scipy import stats

from collop.bench.farm_checker import check_farmcall
from collop.bench.farm_reading import read_farmcall
from collop.bench.farmcall import farmcall
from collop.reference import newsvendor_rows

WEEKS = 1000


def demand_of(row):
    """Return the distribution of a case."""
    a, b = float(row.a), float(row.b)
    return stats.norm(a, b) if row.distribution == "normal" else stats.uniform(a, b - a)


def call_of(row):
    """Return the farm call: animals of 1 lb, all one cut, on weeks at exact quantiles."""
    demand = demand_of(row)
    usual = round(demand.mean(), 3)
    weeks = [
        {"name": str(at), "chance": 1 / WEEKS,
         "factors": {"all": max(0.0, float(demand.ppf((at + 0.5) / WEEKS))) / usual}}
        for at in range(WEEKS)
    ]  # fmt: skip
    return {
        "schema": "collop.farmcall/1", "week_of": "2026-06-15",
        "animals": [{"id": "one", "kind": "whole", "weight": "1", "price_per_unit": str(row.cost),
                     "most": 10_000}],
        "kinds": [{"id": "whole", "styles": [
            {"id": "all", "minutes": "0", "outputs": [{"cut": "cut", "share": "1"}]}]}],
        "cuts": [{"id": "cut", "price": str(row.price), "week": str(usual), "steps": ["1"],
                  "salvage": str(row.salvage)}],
        "scenarios": {"list": weeks},
    }  # fmt: skip


@pytest.mark.parametrize("row", newsvendor_rows(), ids=lambda row: row.case_id)
def test_the_order_is_that_of_the_critical_ratio(row):
    """The order is within one of the quantity of the table, and earns what the formula says."""
    problem = call_of(row)
    plan = farmcall(problem)
    assert row.is_cited
    (order,) = plan["orders"]
    assert abs(order["count"] - float(row.expected)) <= 1
    assert float(order["one_more"]["money"]) <= 0
    assert float(order["one_less"]["money"]) <= 0
    # E min(D, q) from the distribution itself, not from the weeks
    demand, count = demand_of(row), order["count"]
    low = demand.ppf(1e-9)
    sold = demand.expect(lambda seen: min(seen, count), lb=low, ub=demand.ppf(1 - 1e-9),
                         points=[count])  # fmt: skip
    money = float(row.price) * sold + float(row.salvage) * (count - sold)
    assert float(plan["expected"]) == pytest.approx(money - float(row.cost) * count, rel=2e-3)
    assert check_farmcall(read_farmcall(problem), plan) == []


@pytest.mark.parametrize("row", newsvendor_rows(), ids=lambda row: row.case_id)
def test_the_chance_of_running_short_is_what_the_ratio_leaves(row):
    """At the order the chance of running short is one less the critical ratio, within a step."""
    plan = farmcall(call_of(row))
    step = float(demand_of(row).pdf(float(row.expected))) + 1 / WEEKS
    assert plan["cuts"][0]["chance_short"] == pytest.approx(
        1 - float(row.critical_ratio), abs=1.5 * step
    )


def test_a_smaller_spread_pulls_the_order_to_the_mean():
    """Assignment (O08, text seen, answers computed): a third of the spread, nearer to 115."""
    by_id = {row.case_id: row for row in newsvendor_rows()}
    wide, narrow = (
        farmcall(call_of(by_id[name]))["orders"][0]["count"] for name in ("NV06", "NV07")
    )
    assert abs(narrow - 115) < abs(wide - 115)
