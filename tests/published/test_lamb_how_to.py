"""How to Figure Meat on a Lamb, general how-to article, copy (HOWLAMB); weak, but it closes."""

from __future__ import annotations

from decimal import Decimal

from collop.carcass import Hanging, closes, take_home
from collop.measures import Weight, WeightUnit


def test_the_shares_close_and_130_pounds_hang_at_70():
    """How-to article (seen): shares sum to 100; 130 lb at 54 % is 70.2, printed 70."""
    assert closes("LAMB_130_70_HOWTO").closes
    known = Hanging(dressing_pct=Decimal(54), cutting="none", days_hung=0)
    found = take_home("lamb", Weight.of(130, WeightUnit.LB), hanging=known)
    assert found.steps[-1].low == Weight.of(Decimal("70.2"), WeightUnit.LB)
