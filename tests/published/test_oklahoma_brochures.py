"""Oklahoma Department of Agriculture, beef and hog weight brochures (OK430, OK144)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from collop.carcass import Hanging, closes, take_home
from collop.measures import Weight, WeightUnit
from collop.reference import yield_rows


def pounds(amount) -> Weight:
    """Return a weight in pounds."""
    return Weight.of(amount, WeightUnit.LB)


def test_the_beef_list_closes_at_430_pounds():
    """Oklahoma beef brochure (seen): ten lines of retail cuts sum to 430 lb."""
    assert len(yield_rows("BEEF_1000_610_RETAIL430", cited_only=True)) == 10
    assert closes("BEEF_1000_610_RETAIL430").closes


def test_a_thousand_pound_steer_hangs_at_610_and_gives_430():
    """Oklahoma beef brochure (seen): 1000 lb, 61 % 610 lb, 430 lb are 70.5 %."""
    known = Hanging(dressing_pct=Decimal(61), take_home_pct=Decimal("70.5"))
    found = take_home("beef", pounds(1000), hanging=known)
    assert found.step("hot").low == pounds(610)
    assert abs(found.step("take-home").low.exact(WeightUnit.LB) - 430) < Fraction(1, 10)


def test_the_hog_list_closes_at_144_pounds():
    """Oklahoma hog brochure (seen): eleven lines sum to 144 lb, back fat counted."""
    assert closes("PORK_250_180_RETAIL144").closes


def test_a_250_pound_hog_dresses_180_and_gives_144():
    """Oklahoma hog brochure (seen): 72 % of 250 lb is 180 lb; 80 % of it 144 lb."""
    known = Hanging(dressing_pct=Decimal(72), take_home_pct=Decimal(80))
    found = take_home("pork", pounds(250), hanging=known)
    assert [found.step(name).low for name in ("hot", "take-home")] == [pounds(180), pounds(144)]
