"""Mississippi (MSP3489), Tennessee (TNPB1822), North Dakota (NDSUIMPS), California (UC31651)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from collop.carcass import Hanging, hanging_loss, published_range, take_home
from collop.measures import Weight, WeightUnit, decimal_of
from collop.reference import yield_rows


def pounds(amount) -> Weight:
    """Return a weight in pounds."""
    return Weight.of(amount, WeightUnit.LB)


def hot(live, dressing, shrink="0"):
    """Return the hot carcass of a live weight."""
    known = Hanging(
        dressing_pct=Decimal(dressing), live_shrink_pct=Decimal(shrink), cutting="none", days_hung=0
    )
    return take_home("beef", pounds(live), hanging=known)


def test_1200_pounds_at_63_per_cent_hang_at_756():
    """Mississippi P3489 (seen): 1200 x 0.63 = 756 lb hot."""
    assert hot(1200, 63).step("hot").low == pounds(756)


def test_the_first_day_costs_two_to_five_per_cent():
    """Mississippi P3489 (seen): 2 to 5 % of hot weight in 24 h; the range stays a range."""
    found = hanging_loss("beef", 1)
    assert (found.low, found.high, found.basis.standing) == (2, 5, "seen")


def test_a_750_pound_carcass_chills_to_730_at_most():
    """Tennessee PB1822 (seen): 20 lb or more of 750 lb; lies within 2 to 5 %."""
    known = Hanging(cutting="none")
    chilled = take_home("beef", pounds(750), stage="hot", hanging=known).step("chilled")
    assert chilled.low == pounds("712.5")
    assert chilled.low <= pounds(730) <= chilled.high


def test_1375_pounds_shrink_to_1320_and_hang_at_805():
    """North Dakota BeefTalk (seen): 4 % shrink, then 805 lb, 61.0 % of 1320."""
    found = hot(1375, "61.0", "4")
    assert found.step("live after the road").low == pounds(1320)
    assert abs(found.step("hot").low.exact(WeightUnit.LB) - 805) < Fraction(1, 2)


def test_ribeye_rolls_are_a_thirtieth_of_the_carcass():
    """North Dakota BeefTalk (seen): 12.48 lb a side of an 805-lb carcass is 3.1 %."""
    (row,) = yield_rows("BEEF_NDSU_805")
    assert decimal_of(Fraction(row.lb) * 200 / 805, 1) == Decimal("3.1")


def test_an_1163_pound_steer_ends_at_362():
    """California 31-651 (seen): 62.77 % hot, 49.6 % of it as lean boneless meat."""
    known = Hanging(dressing_pct=Decimal("62.77"), take_home_pct=Decimal("49.6"))
    found = take_home("beef", pounds(1163), hanging=known)
    assert found.step("hot").low.decimal(WeightUnit.LB, 0) == 730
    assert found.step("take-home").low.decimal(WeightUnit.LB, 0) == 362


def test_grass_fed_cattle_dress_55_to_58():
    """California 31-651 (seen): grass-fed 55 to 58 %, both ends kept."""
    found = published_range("dressing_percent", "beef", "grass-fed")
    assert (found.low, found.high, found.basis.standing) == (55, 58, "seen")
