"""Kansas State Cattlemen's Day 1976 (KSU1121) and an extension table (EXTYG): 4.6 a grade."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

from collop.reference import carcass_rules


def test_grades_one_to_four_step_by_4_6_points():
    """Extension table (seen): 79.8, 75.2, 70.6, 66.0; 1,121 steers (seen): 4.6 a grade."""
    lows = [
        row.low
        for row in carcass_rules("pct_total_retail_cuts", cited_only=True)
        if row.low is not None
    ]
    (step,) = carcass_rules("retail_difference_per_yield_grade", source_id="KSU1121")
    assert lows == [Decimal("79.8"), Decimal("75.2"), Decimal("70.6"), Decimal("66.0")]
    assert {high - low for high, low in pairwise(lows)} == {step.figure}
