"""National Cattlemen's Beef Association, Beef Made Easy, c. 2000 (NCBA_EASY)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.measures import Weight, WeightUnit
from collop.reference import cooked_weight, cooking_yield, portion_rows, servings

SOURCE = "NCBA_EASY"


@pytest.mark.parametrize(
    ("words", "least", "most"),
    [
        ("T-bone", "6.40", "6.40"),
        ("rib/ribeye steak", "5.33", "6.40"),
        ("flank", "4.00", "4.00"),
        ("short ribs", "6.40", "10.67"),
        ("beef for stew", "5.33", "6.40"),
    ],
)
def test_servings_to_the_pound_are_raw_ounces_a_serving(words, least, most):
    """NCBA, Beef Made Easy, servings per pound (seen): raw oz a serving = 16 / value."""
    row = portion_rows(words, source_id=SOURCE)[0]
    assert row.is_cited
    assert row.ounces_a_head() == (Decimal(least), Decimal(most))


@pytest.mark.parametrize(
    ("words", "pounds", "fewest", "most"),
    [("brisket", "14.00", 35, 42), ("top sirloin", "2.30", 9, 9), ("short ribs", "4.15", 6, 10)],
)
def test_a_raw_weight_gives_whole_servings(words, pounds, fewest, most):
    """NCBA, Beef Made Easy, servings per pound (seen): weight times value, rounded down."""
    row = portion_rows(words, source_id=SOURCE)[0]
    assert servings(Weight.of(pounds, WeightUnit.LB), row) == (fewest, most)


@pytest.mark.parametrize(
    ("portion", "cut"),
    [
        ("flank", "flank"),
        ("tenderloin", "loin, tenderloin steak"),
        ("tenderloin", "loin, top loin steak"),
        ("top sirloin", "top sirloin"),
    ],
)
def test_a_raw_serving_of_steak_cooks_to_three_ounces(portion, cut):
    """NCBA, Beef Made Easy, 3 oz cooked servings, by USDA Cooking Yields 2014 (both seen)."""
    raw, _ = portion_rows(portion, source_id=SOURCE)[0].ounces_a_head()
    row = cooking_yield("beef", cut, "grilled")[0]
    cooked = cooked_weight(Weight.of(raw, WeightUnit.OZ), row).decimal(WeightUnit.OZ)
    # trimming at the table takes the rest
    assert Decimal("3.0") <= cooked <= Decimal("3.3")


def test_four_ounces_of_stew_is_a_small_portion():
    """NCBA, Beef Made Easy, beef for stew (seen): 5.3 oz and more, above the 4 oz of a stew."""
    least, _ = portion_rows("stew", source_id=SOURCE)[0].ounces_a_head()
    assert least > 4
