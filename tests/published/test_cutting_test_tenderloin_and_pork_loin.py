"""Worked tenderloin of a meat purveyor (S09) and the pork loin of a growers' board (S10)."""

from __future__ import annotations

import pytest

from published.cutting_sheets import check, credit, lines, sheet

TENDERLOIN = sheet(
    6,
    "9.70",
    loss_weight="0.12",
    products=[{"part": "filet", "weight": "1.8816"}, {"part": "remaining pieces"}],
)
LOIN = sheet(5, "5.00", unit="kg", products=[{"part": "boned", "weight": "3.75"}],
             loss_weight="1.25")  # fmt: skip
FIGURES = {
    ("CT08", 1): TENDERLOIN["as_purchased_cost"],
    ("CT08", 2): TENDERLOIN["net_weight"],
    ("CT08", 3): TENDERLOIN["cost_per_unit"],
    # 32 % of 5.88 lb is what is left when 68 % goes elsewhere
    ("CT08", 4): sheet("5.88", loss_weight="3.9984")["net_weight"],
    ("CT08", 5): TENDERLOIN["products"][0]["cost"],
    ("CT08", 6): sheet(4, "9.90", credits=[credit("fat", "0.08", "9.90")])["credit_value"],
    ("CT08", 7): sheet(4, "9.90", loss_weight="0.08")["net_weight"],
    ("CT09", 1): LOIN["as_purchased_cost"],
    ("CT09", 2): LOIN["yield_pct"],
    ("CT09", 3): LOIN["cost_per_unit"],
}


@pytest.mark.parametrize("row", lines("S09", "S10"))
def test_each_line_of_tenderloin_and_loin(row):
    """Tenderloin (S09, seen) and pork loin (S10, seen): each line follows."""
    check(row, FIGURES)


def test_filet_and_tips_carry_the_same_cost_a_pound():
    """Tenderloin (S09, seen): cost shared by weight is 9.90 for either."""
    assert {product["cost_per_unit"] for product in TENDERLOIN["products"]} == {"9.8980"}
    assert TENDERLOIN["share_by"] == "weight"
