"""Whole chickens against chicken parts, a magazine's price comparison (S18)."""

from __future__ import annotations

import pytest

from published.cutting_sheets import check, lines, sheet

BIRD = sheet("3.5", "3.59", loss_weight="0.7")
# the magazine goes on from 12.57
ROUNDED = sheet(1, "12.57", loss_weight="0.2")
WORTH = sheet("0.8", "13.75")["as_purchased_cost"]
EVEN = sheet(WORTH, "1", loss_weight="7.50")
FIGURES = {
    ("CT15", 1): BIRD["as_purchased_cost"],
    ("CT15", 3): BIRD["cost_factor"],
    ("CT15", 4): ROUNDED["cost_per_unit"],
    ("CT15", 6): EVEN["cost_per_unit"],
}


@pytest.mark.parametrize("row", lines("S18"))
def test_each_line_of_the_chicken(row):
    """Whole chicken against parts (S18, seen): a fifth trimmed off means a cost of 1.25 times."""
    check(row, FIGURES)
