"""Beef Checkoff leaflets, 1300-lb steer (BC1300, BB1300), and Beef Exchange, page 14 (BXCH)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from collop.carcass import Hanging, closes, hanging_loss, published_misprints, take_home
from collop.measures import Weight, WeightUnit, decimal_of
from collop.reference import yield_rows


def pounds(amount) -> Weight:
    """Return a weight in pounds."""
    return Weight.of(amount, WeightUnit.LB)


def test_a_1300_pound_steer_hangs_at_806():
    """Beef leaflet (seen): 62 % of 1300 lb is 806 lb."""
    found = take_home("beef", pounds(1300), hanging=Hanging(dressing_pct=Decimal(62)))
    assert found.step("hot").low == found.step("hot").high == pounds(806)


@pytest.mark.parametrize("home", [639, 638])
def test_two_leaflets_print_639_and_638_both_79_per_cent(home):
    """Beef leaflets (seen): 639 and 638 of 806 lb both round to 79 %."""
    assert decimal_of(Fraction(home * 100, 806), 0) == 79
    known = Hanging(take_home_pct=Decimal(79))
    found = take_home("beef", pounds(806), stage="hot", hanging=known).step("take-home").low
    half_a_per_cent = Fraction(806, 200)
    assert abs(found.exact(WeightUnit.LB) - home) <= half_a_per_cent


def test_the_chuck_roll_is_sixteen_per_cent_of_the_chuck():
    """Beef leaflet (seen): 37.9 lb of a chuck of 29 % of 806 lb."""
    (roll,) = (row for row in yield_rows("BEEF_1300_806", cited_only=True) if "roll" in row.item)
    assert decimal_of(Fraction(roll.lb) * 100 / (Fraction(29, 100) * 806), 0) == 16


def test_the_remembered_806_table_proves_nothing():
    """Structure, no published check: most lines are from memory, and its retail misses 639."""
    found = closes("BEEF_1300_806")
    assert not found.is_cited
    assert {check.what: check.found for check in found.failing} == {
        "retail cuts": Fraction("636.3")
    }


def test_steaks_and_roasts_are_62_not_59_per_cent():
    """Beef leaflets (seen, contradiction): 396 of 639 lb is 62 %, the other prints 59."""
    (check,) = (one for one in published_misprints() if "steaks and roasts" in one.what)
    assert decimal_of(check.found, 0) == 62
    assert not check.closes


def test_fourteen_days_of_hanging_cost_4_to_6_per_cent():
    """Beef Exchange (seen): total loss from hot weight in 14 days."""
    found = hanging_loss("beef", 14)
    assert (found.low, found.high, found.basis.standing) == (4, 6, "seen")
