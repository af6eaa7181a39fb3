"""Allocating joint costs using the net realizable value method (Cornerstone exercise) (J05).

The answers on the page are a learner's entry marked wrong there; what follows is expected.
"""

from __future__ import annotations

import pytest

from published.joint_sheets import check, found, key, lines, plan_of, products

METHOD = "net realisable value"
PLANS = {
    example: plan_of("12900", "net_realisable", products(example, METHOD))
    for example in ("JC06", "JC06b")
}
FIGURES = {
    (example, METHOD, one["name"], "allocated_joint_cost"): found(plan, one["name"], "allocated")
    for example, plan in PLANS.items()
    for one in plan["products"]
}


@pytest.mark.parametrize("row", lines("J05"), ids=lambda row: f"{row.example_id}-{row.product}")
def test_each_line_of_the_exercise(row):
    """Net realizable value (J05, seen): the marked answers do not follow, the expected ones do."""
    assert row.is_misprinted
    check(row, FIGURES)
    assert key(row) in FIGURES


def test_the_shares_of_the_exercise_close():
    """Net realizable value (J05, seen): each version sums to the 12,900 spent."""
    assert {plan["sum"] for plan in PLANS.values()} == {"12900.00"}
