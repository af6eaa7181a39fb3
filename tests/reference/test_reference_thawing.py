"""Thawing times of one piece."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.reference import cold_water_hours, thaw_hours


def pounds(text: str) -> Weight:
    """Return a weight read on a pound scale."""
    return Weight.of(text, WeightUnit.LB)


def test_a_duck_does_not_thaw_overnight():
    """5.2 lb need 24.96 h at the least, 31.2 h as planned, 2.6 h in cold water."""
    assert thaw_hours(pounds("5.2")) == (Decimal("24.96"), Decimal("31.20"))
    assert cold_water_hours(pounds("5.2")) == Decimal("2.60")


@pytest.mark.parametrize("weight", ["0.10", "1.00", "3.99", "4.00"])
def test_a_small_pack_is_planned_with_a_whole_day(weight):
    """Up to 4 lb, the 24 h of a 1 in package are planned."""
    assert thaw_hours(pounds(weight)).planned == Decimal("24.00")


def test_hours_are_rounded_up():
    """A third of a hundredth of an hour is not lost."""
    assert thaw_hours(pounds("5.001")) == (Decimal("24.01"), Decimal("30.01"))
    assert cold_water_hours(Weight.of(1, WeightUnit.KG)) == Decimal("1.11")


@given(st.integers(1, 100_000), st.integers(1, 100_000))
def test_more_weight_never_thaws_sooner(first, second):
    """Times do not fall as the piece grows, and the plan is never under the least."""
    light, heavy = sorted((first, second))
    one = Weight.of(Decimal(light).scaleb(-3), WeightUnit.LB)
    two = Weight.of(Decimal(heavy).scaleb(-3), WeightUnit.LB)
    assert thaw_hours(one).least <= thaw_hours(one).planned
    assert thaw_hours(one).planned <= thaw_hours(two).planned
    assert thaw_hours(one).least <= thaw_hours(two).least
    assert cold_water_hours(one) <= cold_water_hours(two)


@pytest.mark.parametrize("look_up", [thaw_hours, cold_water_hours])
@pytest.mark.parametrize("weight", ["0", "-5.2"])
def test_nothing_does_not_thaw(look_up, weight):
    """A piece weighs more than nothing."""
    with pytest.raises(BadValue, match="cannot be thawed; give the weight of one frozen piece"):
        look_up(pounds(weight))
