"""Cutting test, a post on the bases of mark-up, Meat Cutter's Club forum (S25)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from collop.chalk import margin_of, markup_of
from collop.measures import decimal_of
from published.joint_sheets import check, lines

METHOD = "margin vs markup"
COST, PRICE = Fraction(10), Fraction(15)
FIGURES = {
    ("MG03", METHOD, "cost 10 markup 5", "markup_pct_on_cost"): decimal_of(
        markup_of(PRICE, COST) * 100, 4
    ),
    ("MG03", METHOD, "cost 10 price 15", "margin_pct_on_sales"): decimal_of(
        margin_of(PRICE, COST) * 100, 4
    ),
}


@pytest.mark.parametrize("row", lines("S25"), ids=lambda row: row.result_name)
def test_each_line_of_the_post(row):
    """Post on mark-up (S25, seen): 50 % on cost; the 30 % it writes for a third does not follow."""
    check(row, FIGURES)
