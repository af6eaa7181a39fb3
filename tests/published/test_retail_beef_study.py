"""Journal of Food Composition and Analysis, 2015: U.S. study of retail beef cuts (ROSELAND2015)."""

from __future__ import annotations

import pytest

from collop.measures import Weight, WeightUnit
from collop.reference import cooked_weight, cooking_yield


def of_study(words: str, preparation: str):
    """Return the one row of the study."""
    rows = cooking_yield("beef", words, preparation)
    (row,) = (row for row in rows if row.source.source_id == "ROSELAND2015")
    return row


def test_grilled_ribeye_keeps_more_than_roasted():
    """Retail beef cuts study, 2015, abstract (seen): ribeye grilled 83 %, roasted 76 %."""
    raw = Weight.of(100, WeightUnit.G)
    grilled = cooked_weight(raw, of_study("ribeye", "grilled"))
    roasted = cooked_weight(raw, of_study("ribeye", "roasted"))
    assert (grilled, roasted) == (Weight.of(83, WeightUnit.G), Weight.of(76, WeightUnit.G))


@pytest.mark.parametrize(("preparation", "cut"), [("grilled", "steak"), ("roasted", "roast")])
def test_the_study_agrees_with_the_table_on_ribeye(preparation, cut):
    """Retail beef cuts study, 2015, and USDA Cooking Yields 2014 (both seen): within 1 point."""
    study = of_study("ribeye", preparation).yield_pct
    rows = cooking_yield("beef", f"rib eye {cut} boneless", preparation)
    mean = sum(row.yield_pct for row in rows) / len(rows)
    assert abs(study - mean) <= 1


def test_the_study_and_the_table_differ_on_roasted_chuck_eye():
    """Retail beef cuts study, 2015 (84 %) and USDA Cooking Yields 2014 (80 %) (both seen)."""
    table = cooking_yield("beef", "chuck eye roast", "roasted")[0]
    assert of_study("chuck eye", "roasted").yield_pct - table.yield_pct == 4
