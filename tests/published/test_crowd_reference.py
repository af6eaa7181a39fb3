"""Popular reference, How much to cook for a crowd (DUMMIES)."""

from __future__ import annotations

from decimal import Decimal

from collop.measures import Weight, WeightUnit, decimal_of
from collop.reference import chicken_parts, portion_rows, servings

SOURCE = "DUMMIES"


def test_a_plate_of_seven_ounces_lies_between_the_published_boneless_portions():
    """Popular references (seen): boneless meat is planned with 4 oz and with 8 oz a head."""
    high = portion_rows("roast boneless", source_id=SOURCE)[0].ounces_a_head()
    low = portion_rows("boneless meat", source_id="EDIBLE")[0].ounces_a_head()
    assert (low, high) == ((4, 4), (8, 8))
    assert low[1] <= 7 <= high[0]


def test_six_ounces_in_the_hand_lie_under_the_ground_beef_of_a_meal():
    """How much to cook for a crowd, ground beef (seen): 8 oz a head as the single meat."""
    assert portion_rows("ground beef", source_id=SOURCE)[0].ounces_a_head() == (8, 8)


def test_a_roast_on_the_bone_is_about_twice_a_boneless_one():
    """How much to cook for a crowd, roasts (seen): 8 oz boneless against 14-16 oz with bone."""
    bone_in = portion_rows("roast with bone", source_id=SOURCE)[0]
    assert bone_in.ounces_a_head() == (14, 16)
    assert servings(Weight.of("17.5", WeightUnit.LB), bone_in) == (17, 20)


def test_the_bone_of_a_chicken_accounts_for_the_larger_portion():
    """How much to cook for a crowd, chicken, by the 1998 ten-bird study (both seen)."""
    boneless = portion_rows("chicken boneless", source_id=SOURCE)[0].ounces_a_head()
    bone_in = portion_rows("chicken with bones", source_id=SOURCE)[0].ounces_a_head()
    bone = chicken_parts("CHICKEN_HALF_1998", kind="total")[0].bone_fraction()
    edible = decimal_of(1 - bone, 3)
    assert edible == Decimal("0.653")
    assert boneless[0] / bone_in[1] <= edible <= boneless[0] / bone_in[0]


def test_four_ounces_of_stew_is_under_the_published_portion():
    """How much to cook for a crowd, stew and chopped meats (seen): 5-6 oz raw a head."""
    row = portion_rows("chili stew", source_id=SOURCE)[0]
    assert row.ounces_a_head() == (5, 6)
    assert row.ounces_a_head()[0] > 4
