"""Butcher test of a forequarter, class problem and student workbook (S05, S06): 81 lb of beef."""

from __future__ import annotations

import pytest

from published.cutting_sheets import check, credit, lines, sheet

QUARTER = sheet(
    81,
    "4.50",
    credits=[
        credit("ground beef", 18, "1.89"),
        credit("stew meat", 13, "2.25"),
        credit("fat", 10, "0.20"),
        credit("briskets", 12, "1.95"),
    ],
    loss_weight="4",
    portion={"size": "7", "unit": "oz"},
    plate={"accompaniments": "1.40", "waste_pct": 10, "food_cost_pct": 30.5},
)
FIGURES = {
    ("CT05", 1): QUARTER["as_purchased_cost"],
    **{("CT05", 2 + 3 * n): QUARTER["credits"][n]["value"] for n in range(4)},
    **{("CT05", 3 + 3 * n): QUARTER["credits"][n]["yield_pct"] for n in range(4)},
    **{("CT05", 4 + 3 * n): QUARTER["credits"][n]["yield_pct"] for n in range(4)},
    ("CT05", 14): QUARTER["loss_pct"],
    ("CT05", 15): QUARTER["loss_pct"],
    ("CT05", 16): QUARTER["credit_value"],
    ("CT05", 17): QUARTER["net_cost"],
    ("CT05", 18): QUARTER["yield_pct"],
    ("CT05", 19): QUARTER["yield_pct"],
    ("CT05", 20): QUARTER["cost_per_unit"],
    ("CT05", 21): QUARTER["portion_cost"],
    ("CT05", 22): QUARTER["portion_cost"],
    ("CT05", 23): QUARTER["true_cost"],
    ("CT05", 24): QUARTER["menu_price"],
}


@pytest.mark.parametrize("row", lines("S05", "S06"))
def test_each_line_of_the_forequarter(row):
    """Class problem and workbook (S05, S06, seen): each line follows; 11.19 a pound does not."""
    check(row, FIGURES)


def test_from_the_portion_to_the_menu():
    """Workbook (S06, seen): 5.03, with trimmings and spice 7.07, at 30.5 % food cost 23.18."""
    assert QUARTER["portion_cost"] == "5.0282"
    assert QUARTER["true_cost"] == "7.0710"
    assert QUARTER["menu_price"] == "23.18"
    assert QUARTER["closes"]
