"""USDA Food and Nutrition Service, Food Buying Guide for Child Nutrition Programs (FBG)."""

from __future__ import annotations

import pytest

from collop.measures import Weight, WeightUnit
from collop.reference import cooked_weight, cooking_yield


@pytest.mark.parametrize(("fat", "hundredths"), [("15%", "0.75"), ("20%", "0.74")])
def test_a_pound_of_mince_cooks_to_the_printed_part(fat, hundredths):
    """Food Buying Guide, Section 1, ground beef (seen as quoted): 1 lb gives 0.75 or 0.74 lb."""
    (row,) = cooking_yield("beef", f"ground {fat} fresh", cited_only=True)
    assert row.source.source_id == "FBG"
    cooked = cooked_weight(Weight.of(1, WeightUnit.LB), row)
    assert cooked == Weight.of(hundredths, WeightUnit.LB)
