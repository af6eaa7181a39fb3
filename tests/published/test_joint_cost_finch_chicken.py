"""Finch Chicken Corporation problem: drumsticks and breasts, then breast steak (J07)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.chalk import allocate
from collop.errors import Contradiction
from published.joint_sheets import check, found, key, lines, plan_of, problem, products

PHYSICAL, SALES = "physical measure", "sales value at split-off"
METHODS = {PHYSICAL: "physical", SALES: "sales_value"}
COST = str(7900 + 6491)
STEAK = {"quantity": "5200", "price": "4.0", "cost": "2000"}


def _products(method):
    """Return the two products; the breasts may be worked into steak."""
    return [
        one | ({"further": STEAK} if one["name"] == "breasts" else {})
        for one in products("JC08", method)
    ]


PLANS = {method: plan_of(COST, METHODS[method], _products(method)) for method in METHODS}


def _figures():
    yield ("JC08", "input", "raw chicken", "joint_cost"), Decimal(PLANS[SALES]["joint_cost"])
    for method, plan in PLANS.items():
        for name in ("drumsticks", "breasts"):
            cost, profit = found(plan, name, "allocated"), found(plan, name, "profit")
            yield ("JC08", method, name, "allocated_joint_cost"), cost
            yield ("JC08", method, name, "product_profit"), profit
    (breasts,) = [one for one in PLANS[SALES]["products"] if one["name"] == "breasts"]
    gain = Decimal(breasts["further"]["gain"])
    yield (
        ("JC08", "sell or process further", "breast into steak", "gain_from_processing_further"),
        gain,
    )


FIGURES = dict(_figures())


@pytest.mark.parametrize("row", lines("J07"), ids=lambda row: "-".join(key(row)[1:]))
def test_each_line_of_the_problem(row):
    """Finch problem (J07, text seen, answers computed): costs, paper profits, gain in steak."""
    assert row.check == "computed_only"
    check(row, FIGURES)


def test_the_gain_in_steak_knows_nothing_of_the_joint_cost():
    """Finch problem (J07): the gain is the same whatever the birds cost, however shared."""
    gains = {
        one["further"]["gain"]
        for cost in ("0", COST, "20000")
        for method in METHODS
        for one in plan_of(cost, METHODS[method], _products(method))["products"]
        if "further" in one
    }
    assert len(gains) == 1


@pytest.mark.parametrize("method", METHODS)
def test_the_weights_of_the_problem_are_no_cutting_test(method):
    """Finch problem (J07, seen): 6000 lb of the 15000 lb raw are in no product; it is refused."""
    asked = problem(COST, METHODS[method], _products(method), input={"quantity": "15000"})
    with pytest.raises(Contradiction, match="6000 lb is missing, so weigh it") as caught:
        allocate(asked)
    assert caught.value.where == "$.input.quantity"
    assert allocate(asked | {"loss_quantity": "6000"})["closes"] is True
