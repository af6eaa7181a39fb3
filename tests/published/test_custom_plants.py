"""Custom plants: Pickrell Locker, 1200-lb steer (LOCKER1200), and a New York plant (NYCP1200)."""

from __future__ import annotations

from decimal import Decimal

from collop.carcass import Hanging, published_misprints, take_home
from collop.measures import Weight, WeightUnit, decimal_of
from collop.reference import carcass_rules


def test_185_of_490_pounds_is_not_39_per_cent():
    """Pickrell Locker (seen, misprint): it is 37.8 %."""
    (check,) = (one for one in published_misprints() if "750-lb" in one.what)
    assert decimal_of(check.found, 1) == Decimal("37.8")
    assert not check.closes


def test_the_locker_example_closes_at_490():
    """Pickrell Locker (seen): 185 + 85 + 90 + 80 + 50 = 490 = 750 - 110 - 150 lb."""
    (row,) = carcass_rules("worked_example_live_to_take_home", source_id="LOCKER1200")
    assert row.figure == 185 + 85 + 90 + 80 + 50 == 750 - 110 - 150


def test_a_custom_plant_gives_424_of_708():
    """New York plant (seen): 59 % of 1200 lb is 708 lb; 60 % of it 424.8, printed 424."""
    known = Hanging(dressing_pct=Decimal(59), take_home_pct=Decimal(60))
    found = take_home("beef", Weight.of(1200, WeightUnit.LB), hanging=known)
    assert found.step("hot").low == Weight.of(708, WeightUnit.LB)
    assert found.step("take-home").low == Weight.of(Decimal("424.8"), WeightUnit.LB)
