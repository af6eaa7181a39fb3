"""Joint cost allocation, insurance settlement (Horngren, Cost Accounting ch. 16), 2012 (J01)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from published.joint_sheets import check, found, key, lines, plan_of, products

SALES, PHYSICAL = "sales value at split-off", "physical measure"
METHODS = {SALES: "sales_value", PHYSICAL: "physical"}
PLANS = {method: plan_of("50", METHODS[method], products("JC01", method)) for method in METHODS}


def _parted(method, *taken):
    """Return the cost of what was lost: each product is split into the lost and the kept."""
    parts = []
    for one in products("JC01", SALES):
        lost = dict(taken).get(one["name"])
        if lost is None:
            parts.append(one)
            continue
        kept = str(Decimal(one["quantity"]) - Decimal(lost))
        parts.append(one | {"name": f"{one['name']}, lost", "quantity": lost})
        parts.append(one | {"name": f"{one['name']}, kept", "quantity": kept})
    plan = plan_of("50", METHODS[method], parts)
    return sum(
        (Decimal(one["allocated"]) for one in plan["products"] if one["name"].endswith("lost")),
        Decimal(0),
    )


def _figures():
    names = [one["name"] for one in products("JC01", SALES)]
    for method, plan in PLANS.items():
        for name in names:
            cost = found(plan, name, "allocated")
            yield ("JC01", method, name, "allocated_joint_cost"), cost
    for name in names:
        yield ("JC01", SALES, name, "cost_per_lb"), found(PLANS[SALES], name, "cost_per_unit")
    sales = Decimal(PLANS[SALES]["total"]["sales_value"])
    yield ("JC01", SALES, "all", "total_sales_value"), sales
    both = _parted(SALES, ("breasts", "40"), ("wings", "15"))
    yield ("JC01", SALES, "claim 40 lb breasts", "claim"), _parted(SALES, ("breasts", "40"))
    yield ("JC01", SALES, "claim 15 lb wings", "claim"), _parted(SALES, ("wings", "15"))
    yield ("JC01", SALES, "claim total", "claim"), both
    by_weight = _parted(PHYSICAL, ("breasts", "40"), ("wings", "15"))
    yield ("JC01", PHYSICAL, "claim 55 lb at 0.20", "claim"), by_weight


FIGURES = dict(_figures())


@pytest.mark.parametrize("row", lines("J01"), ids=lambda row: "-".join(key(row)[1:]))
def test_each_line_of_the_settlement(row):
    """Insurance settlement (J01, seen): 50.00 over five parts of a bird, and the claim."""
    check(row, FIGURES)


def test_the_contract_line_of_the_settlement():
    """Insurance settlement (J01, seen): breasts 33.74, 0.3374 a pound, 38.7 % on the sale."""
    breasts = PLANS[SALES]["products"][0]
    told = [breasts[key] for key in ("allocated", "cost_per_unit", "gross_margin_pct")]
    assert told == ["33.74", "0.3374", 38.7]
    assert PLANS[SALES]["sum"] == "50.00"
