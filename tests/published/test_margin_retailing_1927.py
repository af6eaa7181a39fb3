"""Meat Retailing (A. C. Schueren), 1927: percentages on the selling price (J09, S16)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from collop.chalk import (
    margin_from_markup,
    margin_of,
    markup_from_margin,
    markup_of,
    price_from_margin,
    price_from_markup,
)
from collop.measures import decimal_of
from published.joint_sheets import check, key, lines, plan_of

METHOD = "margin vs markup"
ROWS = lines("J09") + lines("S16")
THIRD = Fraction(1, 3)


def _percent(share):
    return decimal_of(share * 100, 4)


def _figures():
    sugar = (Fraction("15"), Fraction("10"))
    yield (
        ("MG01", METHOD, "sugar 100 lb at 10 c, sold at 15 c", "margin_pct_on_sales"),
        _percent(margin_of(*sugar)),
    )
    yield ("MG01", METHOD, "same", "markup_pct_on_cost"), _percent(markup_of(*sugar))
    # the "33 per cent" of the text is a third of the price: at 0.33 it would be 14.93
    price = decimal_of(price_from_margin(Fraction("10.00"), THIRD), 2)
    yield ("MG02", METHOD, "carcass 10.00", "selling_total_for_33pct_on_sales"), price
    margin = _percent(margin_from_markup(Fraction(30, 100)))
    yield ("MG04", METHOD, "30% on actual cost", "margin_pct_on_sales"), margin
    for row in lines("J09"):
        if row.example_id == "MG05":
            wanted = Fraction(row.product.split()[1].removesuffix("%")) / 100
            yield key(row), _percent(markup_from_margin(wanted))


FIGURES = dict(_figures())


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.example_id}-{row.product}")
def test_each_line_of_margin_and_markup(row):
    """Meat Retailing (J09 and S16, seen; MG05 computed): margin, mark-up and price."""
    check(row, FIGURES)


def test_a_plan_tells_both_of_the_sugar():
    """Meat Retailing (J09, seen): bought for 10.00 and sold for 15.00 is 33.3 % and 50 %."""
    sugar = [{"name": "sugar", "quantity": "100", "price": "0.15"}]
    (one,) = plan_of("10", "sales_value", sugar)["products"]
    assert (one["gross_margin_pct"], one["markup_pct"]) == (33.3, 50.0)
    assert price_from_markup(Fraction(10), Fraction(1, 2)) == 15
