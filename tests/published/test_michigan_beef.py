"""Michigan State University Extension, How much to expect when buying freezer beef (MSU70)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.carcass import Hanging, closes, take_home
from collop.measures import Weight, WeightUnit


@pytest.mark.parametrize(("carcass", "home"), [(600, 420), (700, 490), (800, 559)])
def test_the_columns_close(carcass, home):
    """Michigan State (seen): take-home of 600, 700 and 800 lb sums to 420, 490 and 559 lb."""
    (check,) = (
        one for one in closes(f"BEEF_PRIMALS_MSU{carcass}").checks if one.what == "take-home"
    )
    assert check.found == home
    assert check.closes


@pytest.mark.parametrize(("carcass", "home", "off"), [(600, 420, 0), (700, 490, 0), (800, 559, 1)])
def test_take_home_is_seventy_per_cent(carcass, home, off):
    """Michigan State (seen): 70 % of the carcass; 560 is printed 559 by rounding of its parts."""
    hot = Weight.of(carcass, WeightUnit.LB)
    known = Hanging(take_home_pct=Decimal(70))
    found = take_home("beef", hot, stage="hot", hanging=known).step("take-home").low
    assert found.exact(WeightUnit.LB) - home == off
