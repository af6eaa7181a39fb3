"""Old Farmer's Almanac, Party planner: cooking for a crowd (ALMANAC)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.measures import Weight, WeightUnit
from collop.reference import portion_rows, servings


@pytest.mark.parametrize(
    ("words", "pounds"),
    [("breast", "50"), ("ham or roast beef", "40"), ("meat loaf", "24"), ("hot dogs", "25")],
)
def test_the_pounds_for_a_hundred_serve_a_hundred(words, pounds):
    """Old Farmer's Almanac, Party planner, table for 100 (seen): each weight serves 100."""
    row = portion_rows(words, source_id="ALMANAC")[0]
    assert servings(Weight.of(pounds, WeightUnit.LB), row) == (100, 100)


def test_six_ounces_in_the_hand_lie_above_the_burgers_of_a_crowd():
    """Old Farmer's Almanac, Party planner, hamburgers (seen): 30-36 lb per 100 is 4.8-5.76 oz."""
    row = portion_rows("hamburgers", source_id="ALMANAC")[0]
    assert row.ounces_a_head() == (Decimal("4.80"), Decimal("5.76"))
    assert servings(Weight.of(36, WeightUnit.LB), row) == (100, 120)
    assert row.ounces_a_head()[1] < 6
