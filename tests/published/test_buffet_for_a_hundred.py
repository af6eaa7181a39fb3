"""Catering page, Buffet quantities for 100, 2023 (CROWD100)."""

from __future__ import annotations

from decimal import Decimal

from collop.measures import Weight, WeightUnit
from collop.reference import cooked_weight, cooking_yield, portion_rows, servings

SOURCE = "CROWD100"


def test_two_pounds_serve_five():
    """Buffet quantities for 100, first meat of two (seen): 2 lb raw for 5 people."""
    row = portion_rows("lean boneless beef", source_id=SOURCE)[0]
    assert servings(Weight.of(2, WeightUnit.LB), row) == (5, 5)


def test_one_pound_of_a_second_meat_serves_four():
    """Buffet quantities for 100, second meat (seen): 1 lb raw for 4 people."""
    row = portion_rows("boneless second meat", source_id=SOURCE)[0]
    assert servings(Weight.of(1, WeightUnit.LB), row) == (4, 4)


def test_the_raw_first_meat_cooks_to_the_cooked_first_meat():
    """Buffet quantities for 100, by USDA Cooking Yields 2014, boneless roasts (both seen)."""
    raw = Weight.of(portion_rows("lean boneless beef", source_id=SOURCE)[0].low, WeightUnit.LB)
    roasted = cooking_yield("beef", "retail boneless all temps", "roasted")[0]
    cooked = portion_rows("sliced roast beef", source_id=SOURCE)[0]
    assert cooked.state == "cooked"
    assert cooked_weight(raw, roasted).decimal(WeightUnit.OZ) == Decimal("5.06")
    assert cooked.ounces_a_head() == (5, 5)
