"""A 1,200 lb steer (S22), a hog brochure (S21) and a rule for a hog's retail value (S23)."""

from __future__ import annotations

import pytest

from published.cutting_sheets import added, check, lines, sheet

HOG = (28, 23, 23, 6, 9, 12, 3, 5, 23, 9, 3)
FIGURES = {
    ("CT17", 2): sheet(1200, loss_weight="456")["net_weight"],
    ("CT17", 3): sheet(744, loss_weight="26.04")["net_weight"],
    ("CT17", 4): sheet(718, loss_weight="236.94")["net_weight"],
    ("CT19", 13): added(*HOG),
    ("CT19", 14): sheet(180, products=[{"part": "cuts", "weight": added(*HOG)}],
                        loss_weight="36")["loss_pct"],
    ("CT19", 15): sheet(250, loss_weight="106")["yield_pct"],
    ("CT20", 2): sheet(130, "2.00")["as_purchased_cost"],
    ("CT20", 3): sheet(1, "260", loss_weight="0.25")["cost_per_unit"],
    # the source divides 350, neither its own 356.67 nor the right 346.67
    ("CT20", 4): sheet(350, loss_weight="90")["cost_per_unit"],
}  # fmt: skip


@pytest.mark.parametrize("row", lines("S21", "S22", "S23"))
def test_each_line_of_steer_and_hog(row):
    """Steer (S22), brochure (S21), rule (S23), seen: each line follows; 356.67 does not."""
    check(row, FIGURES)


def test_the_dressed_hog_closes_with_its_fifth_of_loss():
    """Hog brochure (S21, seen): 144 lb of cuts and 36 lb of loss are the 180 lb dressed."""
    plan = sheet(180, products=[{"part": "cuts", "weight": "144"}], loss_weight="36")
    assert plan["closes"]
