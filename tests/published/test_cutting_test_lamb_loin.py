"""Butcher test card and cooking loss test, Exercise 6-3 (S03): lamb loin, 12 lb."""

from __future__ import annotations

import pytest

from published.cutting_sheets import check, credit, lines, sheet

OFF = [credit("fat", 3), credit("kidneys", 1, "6.10"), credit("flanks", "1.5", "4.60")]
FIVE = {"size": "5", "unit": "oz"}
RAW = sheet(12, "6.65", credits=OFF, loss_weight="0.5", portion=FIVE)
OUNCE = sheet(12, "6.65", credits=OFF, loss_weight="0.5", portion={"size": "1", "unit": "oz"})
COOKED = sheet(
    12,
    "6.65",
    credits=OFF,
    loss_weight="0.5",
    cooked_weight="5.5",
    after_cooking=[credit("bones and trim", 1)],
)
UNBONED = sheet(12, "6.65", credits=OFF, loss_weight="0.5", cooked_weight="5.5")
# the sheet charges all 79.80 to 5 lb, without credits
AS_PRINTED = sheet(12, "6.65", cooked_weight="5", portion=FIVE)
FIGURES = {
    ("CT03", 1): RAW["as_purchased_cost"],
    ("CT03", 2): RAW["credits"][0]["value"],
    ("CT03", 3): RAW["credits"][0]["yield_pct"],
    ("CT03", 4): RAW["credits"][1]["value"],
    ("CT03", 5): RAW["credits"][1]["yield_pct"],
    ("CT03", 6): RAW["credits"][2]["value"],
    ("CT03", 7): RAW["credits"][2]["yield_pct"],
    ("CT03", 8): 0,
    ("CT03", 9): RAW["loss_pct"],
    ("CT03", 10): RAW["net_cost"],
    ("CT03", 11): RAW["yield_pct"],
    ("CT03", 12): RAW["cost_per_unit"],
    ("CT03", 13): OUNCE["portion_cost"],
    ("CT03", 14): RAW["portion_cost"],
    ("CT03", 15): RAW["cost_factor"],
    ("CT03", 16): RAW["portion_cost_factor"],
    ("CT03", 17): UNBONED["cooked_yield_pct"],
    ("CT03", 18): COOKED["cooking_loss_pct"],
    ("CT03", 19): COOKED["after_cooking"][0]["yield_pct"],
    ("CT03", 20): COOKED["cooked_yield_pct"],
    ("CT03", 21): AS_PRINTED["cooked_cost_per_unit"],
    ("CT03", 22): AS_PRINTED["portion_cost"],
    ("CT03", 23): AS_PRINTED["cooked_cost_factor"],
    ("CT03", 24): AS_PRINTED["portion_cost_factor"],
}


@pytest.mark.parametrize("row", lines("S03"))
def test_each_line_of_the_lamb_loin(row):
    """Exercise 6-3 (S03, seen): each line follows; 5 lb to serve out of 5.5 less 1 does not."""
    check(row, FIGURES)


def test_the_loss_is_a_line_of_its_own():
    """Exercise 6-3 (S03, seen): half a pound of loss closes the sheet at 6 lb of meat."""
    assert RAW["closes"]
    assert RAW["net_weight"] == "6"
    open_sheet = sheet(12, "6.65", credits=OFF, products=[{"part": "meat", "weight": "6"}])
    assert not open_sheet["closes"]
    assert open_sheet["gap_weight"] == "0.5"
    assert "cutting loss" in open_sheet["likely"]


def test_the_credit_stays_when_the_loin_is_cooked():
    """Exercise 6-3 (S03, inputs seen): 66.80 over 4.5 lb served is 14.84, not the 15.96 printed."""
    assert COOKED["cooked_cost_per_unit"] == "14.8444"
    assert COOKED["salable_weight"] == "4.5"
