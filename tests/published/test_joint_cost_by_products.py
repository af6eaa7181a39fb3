"""Solutions 9-36, 9-38, 9-46: relative sales value, constant gross margin, by-products (J03)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from published.joint_sheets import check, key, lines, plan_of

OTHER, LESS = "by-product: other income", "by-product: deducted from cost"


def _sold(by_product_as):
    """Return the plan: sales 140,000, cost 72,000, a by-product worth 450 after its own cost."""
    return plan_of(
        "72000", "sales_value", [{"name": "main", "quantity": "1", "price": "140000"}],
        by_products=[{"name": "by-product", "quantity": "1", "price": "450"}],
        by_product_as=by_product_as,
    )  # fmt: skip


FIGURES = {
    ("JC04", OTHER, "main", "gross_margin"): Decimal(
        _sold("other_income")["total"]["gross_margin"]
    ),
    ("JC04", LESS, "main", "gross_margin"): Decimal(_sold("less_cost")["total"]["gross_margin"]),
    ("JC04", LESS, "main", "adjusted_cost_of_goods_sold"): Decimal(
        _sold("less_cost")["total"]["cost_of_goods_sold"]
    ),
}


@pytest.mark.parametrize("row", lines("J03"), ids=lambda row: "-".join(key(row)[1:]))
def test_each_line_of_the_by_product(row):
    """By-product (J03, seen): the margin is 68,450 either way, only the line moves."""
    check(row, FIGURES)


def test_as_other_income_the_cost_of_goods_is_untouched():
    """By-product (J03, seen): 72,000 stay, and 450 stand beside the sales."""
    total = _sold("other_income")["total"]
    assert (total["cost_of_goods_sold"], total["other_income"]) == ("72000.00", "450.00")
