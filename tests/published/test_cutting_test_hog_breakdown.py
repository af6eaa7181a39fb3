"""Hog carcass breakdown, University of Kentucky College of Agriculture copy (S20): 184 lb."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.carcass import reconcile
from collop.reference import cutting_test_rows
from published.cutting_sheets import added, check, lines, sheet

ROWS = cutting_test_rows("CT18")
LARGE = {row.part: row.step for row in ROWS if row.result_name == "sum_of_components"}
PARTS = {
    name: [row for row in ROWS if row.role == "component" and row.part.startswith(f"{name}: ")]
    for name in LARGE
}
SUMS = {name: added(*(row.weight for row in rows)) for name, rows in PARTS.items()}
FIGURES = {
    ("CT18", 2): sheet(250, loss_weight="66")["net_weight"],
    **{("CT18", step): SUMS[name] for name, step in LARGE.items()},
    **{
        ("CT18", step + 1): sheet(184, products=[{"part": name, "weight": SUMS[name]}])["yield_pct"]
        for name, step in LARGE.items()
    },
    ("CT18", 39): added(*SUMS.values()),
}


def _tree(whole, sd):
    """Return the hog as a tree; a figure printed to 0.1 lb has a spread of 0.03 lb."""
    return {
        "schema": "collop.balance/1",
        "scale_sd": "0.03",
        "resolution": "0.1",
        "loss": {"share": 0},
        "whole": {"name": "carcass", "weight": whole, "sd": sd, "parts": [
            {"name": name, "weight": SUMS[name],
             "parts": [{"name": row.part, "weight": str(row.weight)} for row in rows]}
            for name, rows in PARTS.items()
        ]},
    }  # fmt: skip


@pytest.mark.parametrize("row", lines("S20"))
def test_each_line_of_the_hog(row):
    """Hog breakdown (S20, seen): six subtotals and shares follow; 22 % for the rest only nearly."""
    check(row, FIGURES)


def test_the_hog_closes_as_a_tree_within_its_printed_rounding():
    """Hog breakdown (S20, seen): 184 printed to a pound and 21 parts to a tenth close at 184.2."""
    plan = reconcile(_tree("184", "0.29"))
    assert plan["closes"]
    assert plan["freedom"] == 7
    whole = plan["whole"]
    assert whole["weight"] == "184.2"
    for large in whole["parts"]:
        below = sum(Decimal(part["weight"]) for part in large["parts"])
        assert below == Decimal(large["weight"])
    assert sum(Decimal(large["weight"]) for large in whole["parts"]) == Decimal("184.2")


def test_a_carcass_weighed_to_a_tenth_would_not_close_at_184():
    """Hog breakdown (S20, seen): weighed that finely, 184 and the six large cuts do not close."""
    problem = _tree("184", "0.02")
    for large in problem["whole"]["parts"]:
        del large["parts"]
    plan = reconcile(problem)
    assert plan["verdict"] == "refused"
    assert plan["sums"][0]["gap_weight"] == "-0.2"


def test_about_140_pounds_of_it_are_eaten():
    """Hog breakdown (S20, seen): the edible parts sum to 139.8 lb, told as about 140."""
    waste = ("skin fat and bone", "fat and bone", ": fat", "shrink and loss")
    edible = [row.weight for rows in PARTS.values() for row in rows if not row.part.endswith(waste)]
    assert added(*edible) == "139.8"
