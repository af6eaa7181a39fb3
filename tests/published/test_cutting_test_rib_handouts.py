"""The Butchers Yield Test, culinary class notes and handout (S01, S02): rib of beef, poultry."""

from __future__ import annotations

import pytest

from published.cutting_sheets import check, credit, lines, sheet

RIB = sheet(
    28,
    "1.30",
    credits=[credit("fat", 3, "0.10"), credit("bones", 4, "0.30"), credit("trim", 5, "1.30")],
    portion={"size": "10", "unit": "oz"},
)
# the second handout shows only its result, 7.30 a pound; any sheet that ends there has its factor
DEAR = sheet("7.30", "4.30", loss_weight="3", new_price_per_unit="4.65")
PRINTED_FACTOR = sheet("1.70", "1", loss_weight="0.70", new_price_per_unit="4.65")
PORTION = sheet(1, "7.30", portion={"size": "12", "unit": "oz"})
# the menu price goes on from the printed 5.48, not from 5.475
MENU = sheet(1, "5.48", portion={"size": "1", "unit": "lb"}, plate={"food_cost_pct": 35})


def _bird(weight, value):
    return sheet(10, "9", credits=[credit("part", weight, value)])["credit_value"]


FIGURES = {
    ("CT01", 1): RIB["as_purchased_cost"],
    ("CT01", 2): RIB["credits"][0]["value"],
    ("CT01", 3): RIB["credits"][1]["value"],
    ("CT01", 4): RIB["credits"][2]["value"],
    ("CT01", 5): RIB["credit_value"],
    ("CT01", 6): RIB["net_weight"],
    ("CT01", 7): RIB["net_cost"],
    ("CT01", 8): RIB["cost_per_unit"],
    ("CT01", 9): RIB["cost_factor"],
    ("CT01", 10): RIB["yield_pct"],
    ("CT02", 1): sheet(28, "4.30")["as_purchased_cost"],
    ("CT02", 3): DEAR["cost_factor"],
    ("CT02", 4): PRINTED_FACTOR["new_cost_per_unit"],
    ("CT02", 5): PORTION["portion_cost"],
    ("CT02", 6): MENU["menu_price"],
    ("CT22", 1): _bird("5.3125", "0.09"),
    ("CT22", 2): _bird("1.125", "0.11"),
    ("CT22", 3): _bird("3.25", "0.38"),
}


@pytest.mark.parametrize("row", lines("S01", "S02"))
def test_each_line_of_the_rib_sheets(row):
    """Class notes and handout (S01, S02, seen): each line follows; the 22.40 does not."""
    check(row, FIGURES)


def test_the_documented_figures_of_the_rib():
    """Class notes (S01, inputs seen, results computed): the whole chain down to a 10 oz portion."""
    chain = {
        "as_purchased_cost": "36.40",
        "credit_value": "8.00",
        "net_cost": "28.40",
        "net_weight": "16",
        "cost_per_unit": "1.7750",
        "yield_pct": 57.14,
        "cost_factor": 1.3654,
        "portion_cost": "1.1094",
        "closes": True,
        "gap_weight": "0",
    }
    assert {key: RIB[key] for key in chain} == chain


def test_the_new_price_by_the_unrounded_factor():
    """Handout (S02, seen): 7.91 comes from the factor rounded to 1.70; unrounded it is 7.89."""
    assert DEAR["new_cost_per_unit"] == "7.8942"
    assert PRINTED_FACTOR["new_cost_per_unit"] == "7.9050"
