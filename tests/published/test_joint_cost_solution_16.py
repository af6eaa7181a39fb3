"""Cost allocation: joint products and byproducts, solution 16-16 (J02)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.reference import joint_cost_rows
from published.joint_sheets import check, found, key, lines, plan_of, products

SALES = "sales value at split-off"
PLAN = plan_of("100", "sales_value", products("JC02", SALES))


def _claim():
    """Return the cost of 20 lb of breasts and 10 lb of wings, taken out of their lines."""
    parts = []
    for one in products("JC02", SALES):
        lost = {"breasts": 20, "wings": 10}.get(one["name"], 0)
        parts.append(one | {"quantity": str(Decimal(one["quantity"]) - lost)})
        if lost:
            parts.append(one | {"name": f"lost {one['name']}", "quantity": str(lost)})
    plan = plan_of("100", "sales_value", parts)
    return found(plan, "lost breasts", "allocated") + found(plan, "lost wings", "allocated")


def _figures():
    fields = {
        "weight": "share",
        "allocated_joint_cost": "allocated",
        "cost_per_lb": "cost_per_unit",
    }
    for one in products("JC02", SALES):
        for result, field in fields.items():
            yield ("JC02", SALES, one["name"], result), found(PLAN, one["name"], field)
    yield ("JC02", SALES, "claim 20 lb breasts + 10 lb wings", "claim"), _claim()


FIGURES = dict(_figures())


@pytest.mark.parametrize("row", lines("J02"), ids=lambda row: "-".join(key(row)[2:]))
def test_each_line_of_the_solution(row):
    """Solution 16-16 (J02, seen): shares, costs and costs a pound, and the claim of 15.95."""
    check(row, FIGURES)


ROUNDED = [
    row for row in lines("J02") if row.result_name in ("allocated_joint_cost", "cost_per_lb")
]


@pytest.mark.parametrize("row", ROUNDED, ids=lambda row: "-".join(key(row)[2:]))
def test_the_printed_costs_follow_from_rounded_shares(row):
    """Solution 16-16 (J02, seen): 67.50 is 0.675 of 100, where the exact share gives 67.48."""
    share = FIGURES[row.example_id, row.method, row.product, "weight"].quantize(Decimal("0.001"))
    divided = row.quantity if row.result_name == "cost_per_lb" else 1
    assert share * 100 / divided == row.printed
    assert "rounded" in row.note


def test_the_shares_close_to_the_cent():
    """Solution 16-16 (J02, seen): five costs sum to the 100.00 spent."""
    assert sum(Decimal(one["allocated"]) for one in PLAN["products"]) == 100
    assert len(joint_cost_rows("JC02")) == 16
