"""A working meat cutter's test of two pork shoulder blocks (S07): three weights of one lot."""

from __future__ import annotations

import pytest

from collop.carcass import reconcile
from published.cutting_sheets import check, credit, lines, sheet

FAT, BONE = credit("fat", "1.75"), credit("bone", "1.0625")


def _sheet(weight, steak="2.99", trim="1.99", **more):
    products = [
        {"part": "steak", "weight": "9.9375", "price_per_unit": steak},
        {"part": "trim", "weight": "5.625", "price_per_unit": trim},
    ]
    return sheet(weight, "1.22", credits=[FAT, BONE], products=products, **more)


BILLED = _sheet("18.75", loss_weight="0.375")
PIECES = _sheet("18.375")
SAUSAGE = _sheet("18.375", steak="1.59", trim="4.29")
# the post goes on from its slip, 40.81
AS_PRINTED = sheet(1, "22.42", products=[{"part": "all", "weight": "1", "price_per_unit": "40.81"}])
FIGURES = {
    ("CT06", 1): BILLED["as_purchased_cost"],
    ("CT06", 4): PIECES["products"][0]["sales_value"],
    ("CT06", 5): PIECES["products"][0]["yield_pct"],
    ("CT06", 6): PIECES["products"][1]["sales_value"],
    ("CT06", 7): PIECES["products"][1]["yield_pct"],
    ("CT06", 8): PIECES["products"][1]["yield_pct"],
    ("CT06", 9): PIECES["credits"][0]["yield_pct"],
    ("CT06", 10): PIECES["credits"][1]["yield_pct"],
    ("CT06", 11): PIECES["as_purchased_cost"],
    ("CT06", 12): _sheet("18.625")["gap_weight"],
    ("CT06", 13): PIECES["sales_value"],
    ("CT06", 14): AS_PRINTED["gross_profit"],
    ("CT06", 15): AS_PRINTED["markup_pct"],
    ("CT06", 16): BILLED["margin_pct"],
    ("CT06", 17): PIECES["margin_pct"],
    ("CT06", 18): SAUSAGE["sales_value"],
    ("CT06", 19): SAUSAGE["margin_pct"],
}


@pytest.mark.parametrize("row", lines("S07"))
def test_each_line_of_the_shoulder(row):
    """Meat cutter's post (S07, seen): each line follows; 11.10, 40.81 and 81.71 % do not."""
    check(row, FIGURES)


def test_a_mark_up_is_no_margin():
    """Meat cutter's post (S07, seen): 81.71 % is near the mark-up; the margin is 45 %."""
    assert PIECES["markup_pct"] == 82.48
    assert PIECES["margin_pct"] == 45.2


def test_the_weights_close_with_their_loss_line_only():
    """Meat cutter's post (S07, weights seen): z is 5.6 without a loss line, 0.6 with one."""
    parts = {"steak": "9.9375", "trim": "5.625", "fat": "1.75", "bone": "1.0625"}
    whole = {
        "name": "shoulder",
        "weight": "18.625",
        "parts": [{"name": name, "weight": weight} for name, weight in parts.items()],
    }
    problem = {"schema": "collop.balance/1", "scale_sd": "0.02"}
    with_loss = reconcile(problem | {"whole": whole | {"loss": {"weight": "0.186", "sd": "0.10"}}})
    without = reconcile(problem | {"whole": whole | {"loss": {"share": 0}}})
    assert (with_loss["closes"], with_loss["sums"][0]["z"]) == (True, 0.58)
    assert (without["closes"], without["sums"][0]["z"]) == (False, 5.59)
    assert without["likely"][0]["kind"] == "loss"
