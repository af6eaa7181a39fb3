"""Manitoba Pork, How much to buy (MANITOBA)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.measures import Weight, WeightUnit
from collop.reference import portion_rows

SOURCE = "MANITOBA"


@pytest.mark.parametrize(
    ("by_servings", "by_weight"),
    [
        ("pork boneless roast", "pork boneless cuts"),
        ("pork boneless chop/steak/cubes", "pork boneless cuts"),
    ],
)
def test_servings_to_the_pound_agree_with_pounds_a_head(by_servings, by_weight):
    """Manitoba Pork, How much to buy (seen): 3-4 servings to the pound are 1/4 to 1/3 lb."""
    one = portion_rows(by_servings, source_id=SOURCE)[0].ounces_a_head()
    two = portion_rows(by_weight, source_id=SOURCE)[0].ounces_a_head()
    assert one == two == (Decimal("4.00"), Decimal("5.33"))


def test_pork_on_the_bone_implies_the_share_of_meat():
    """Manitoba Pork, How much to buy (seen): boneless over bone-in is 2/3 to 3/4."""
    boneless = portion_rows("boneless cuts", source_id=SOURCE)[0].ounces_a_head()
    bone_in = portion_rows("bone-in cuts", source_id=SOURCE)[0].ounces_a_head()
    shares = [round(meat / whole, 2) for meat, whole in zip(boneless, bone_in, strict=True)]
    assert shares == [Decimal("0.75"), Decimal("0.67")]


def test_the_grams_beside_the_pounds_are_a_misprint():
    """Manitoba Pork, How much to buy (seen): 125-165 g is printed for what is 113-151 g."""
    row = portion_rows("boneless cuts", source_id=SOURCE)[0]
    assert row.note == "125-165 g"
    ounces = row.ounces_a_head()
    grams = [Weight.of(each, WeightUnit.OZ).decimal(WeightUnit.G, 0) for each in ounces]
    assert grams == [113, 151]
