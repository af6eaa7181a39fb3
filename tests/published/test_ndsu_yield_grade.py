"""North Dakota State University Extension, Yield Grades of Carcasses (NDSUYG)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from collop.carcass import published_misprints, yield_grade
from collop.measures import Weight, WeightUnit
from collop.reference import carcass_rules


def test_the_worked_example_is_grade_two():
    """NDSU (seen): fat 0.40 in, KPH 2.5 %, 750 lb, 12.8 sq in give 2.75 (exact 2.754)."""
    (row,) = carcass_rules("yield_grade_example", cited_only=True)
    assert row.inputs == "AFT=0.40; KPH=2.5; REA=12.8; HCW=750"
    found = yield_grade(
        adjusted_fat_in=Decimal("0.40"),
        kph_pct=Decimal("2.5"),
        ribeye_sq_in=Decimal("12.8"),
        hot_carcass=Weight.of(750, WeightUnit.LB),
    )
    assert found.value == Fraction("2.754")
    assert f"{float(found.value):.2f}" == row.value
    assert found.grade == 2


def test_the_retail_shares_step_unevenly():
    """NDSU (seen, contradiction): 67.5 less 64.9 is 2.6 points, not 4.6."""
    (check,) = (one for one in published_misprints() if "North Dakota" in one.what)
    assert (check.found, check.closes) == (Fraction("2.6"), False)
