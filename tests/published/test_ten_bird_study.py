"""Australian Chicken Meat Federation (quoted), Study of 10 cut-up chicken carcasses (FSANZCHK)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from collop.measures import Weight, WeightUnit, decimal_of, sum_money
from collop.measures.money import UnitPrice
from collop.reference import chicken_parts

PARTS = chicken_parts("CHICKEN_HALF_1998", kind="part")
(WHOLE,) = chicken_parts("CHICKEN_HALF_1998", kind="total")


def weight(row) -> Weight:
    """Return the weight of a part."""
    return Weight.of(row.weight.low, WeightUnit.G)


def test_the_parts_close_on_the_half_carcass():
    """Ten-bird study, 1998, half-carcass weights (seen): parts sum to 756 g."""
    total = Weight.zero(WeightUnit.G)
    for part in PARTS:
        total += weight(part)
    assert total == weight(WHOLE) == Weight.of(756, WeightUnit.G)


@pytest.mark.parametrize("name", ["lean", "skin", "bone"])
def test_lean_skin_and_bone_each_close(name):
    """Ten-bird study, 1998 (seen; bone computed): each column sums to its total."""
    assert sum(getattr(part, name) for part in PARTS) == getattr(WHOLE, name)


def test_bone_by_difference_is_a_third_of_the_bird():
    """Ten-bird study, 1998 (seen): 756 - 409 - 85 = 262 g, 34.7 %."""
    assert WHOLE.bone_fraction() == Fraction(262, 756)
    assert decimal_of(WHOLE.bone_fraction() * 100, 1) == Decimal("34.7")


@pytest.mark.parametrize(
    ("words", "bone_pct"), [("breast", 27), ("drumstick", 34), ("thigh", 44), ("wing", 37)]
)
def test_bone_by_difference_of_each_part(words, bone_pct):
    """Ten-bird study, 1998 (seen): breast 27, drumstick 34, thigh with back 44, wing 37 %."""
    (part,) = (part for part in PARTS if words in part.part)
    assert decimal_of(part.bone_fraction() * 100, 0) == bone_pct


def test_the_printed_shares_sum_to_101_but_the_weights_to_100():
    """Ten-bird study, 1998 (seen): 41 + 17 + 31 + 12 is a rounding of 100.0."""
    shares = [part.weight.low / WHOLE.weight.low * 100 for part in PARTS]
    assert sum(decimal_of(Fraction(share), 0) for share in shares) == 101
    assert sum(part.pct_of_base.low for part in PARTS) == 100


def test_a_bird_sold_in_parts_at_one_price_costs_the_bird():
    """Ten-bird study, 1998 (seen): the lines of the parts differ by a cent a line at the most."""
    price = UnitPrice.of("5.30", WeightUnit.LB)
    lines = sum_money(price.line(weight(part)) for part in PARTS)
    assert abs(lines.minor - price.line(weight(WHOLE)).minor) <= len(PARTS)
