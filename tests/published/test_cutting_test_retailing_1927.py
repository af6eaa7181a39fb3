"""Meat Retailing, A. C. Schueren, 1927, web reprints (S15, S16, S17): cost and selling price."""

from __future__ import annotations

import pytest

from published.cutting_sheets import check, lines, sheet

PRIME = {"New York": "17.07", "Chicago": "15.78", "Baltimore": "15.95", "Northwestern": "15.36"}


def _style(actual):
    """Return the sheet of a carcass at 12 cents whose saleable meat costs `actual`."""
    product = {"part": "saleable", "weight": "12", "target_markup_pct": 30}
    return sheet(actual, "12", products=[product], loss_weight=f"{float(actual) - 12:.2f}")


STYLES = [_style(actual) for actual in PRIME.values()]
SALES = sheet(1, "40.75", products=[{"part": "all", "weight": "1", "price_per_unit": "59.78"}])
THIRTY = sheet(1, "1.00", products=[{"part": "all", "weight": "1", "target_markup_pct": 30}])
FIGURES = {
    ("CT14", 1): sheet("407.5", "0.10")["as_purchased_cost"],
    ("CT14", 4): SALES["markup_pct"],
    ("CT14", 5): THIRTY["margin_pct"],
    **{("CT14b", 2 + 3 * n): s["products"][0]["price_per_unit"] for n, s in enumerate(STYLES)},
    **{("CT14b", 3 + 3 * n): s["cost_factor"] for n, s in enumerate(STYLES)},
    ("CT14c", 2): sheet(15, loss_weight="0.25")["loss_pct"],
}


@pytest.mark.parametrize("row", lines("S15", "S16", "S17"))
def test_each_line_of_the_1927_sheets(row):
    """Meat Retailing (S15-S17, summary figures seen): each line follows, two only nearly."""
    check(row, FIGURES)


def test_thirty_on_cost_is_twenty_three_on_sales():
    """Meat Retailing (S16, seen): a mark-up of 30 % on actual cost is a margin of 23 %."""
    assert (THIRTY["markup_pct"], THIRTY["margin_pct"]) == (30.0, 23.08)
