"""USDA ARS, USDA Table of Cooking Yields for Meat and Poultry, Release 2, 2014 (USDA_CY2)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.measures import Weight, WeightUnit
from collop.reference import cooked_weight, cooking_yield

SPECIES = ("beef", "pork", "lamb", "chicken", "turkey", "veal", "game", "emu", "ostrich")


@pytest.mark.parametrize(
    ("species", "words", "preparation", "raw", "cooked"),
    [
        ("beef", "tri-tip", "roasted", "2.50", "2.10"),
        ("beef", "brisket flat", "braised", "14.00", "9.66"),
        ("beef", "outside skirt", "grilled", "3.80", "2.59"),
        ("pork", "arm picnic", "braised", "10.00", "7.40"),
        ("pork", "spareribs", "roasted", "6.00", "4.56"),
        ("lamb", "roasts", "roasted", "26.00", "19.24"),
        ("chicken", "broiler-fryer thigh", "roasted", "10.00", "6.90"),
    ],
)
def test_a_raw_weight_cooks_to_the_published_share(species, words, preparation, raw, cooked):
    """USDA Cooking Yields 2014, main table (seen): cooked = raw x yield / 100."""
    row = cooking_yield(species, words, preparation, cited_only=True)[0]
    assert row.source.source_id == "USDA_CY2"
    assert cooked_weight(Weight.of(raw, WeightUnit.LB), row).decimal(WeightUnit.LB) == Decimal(
        cooked
    )


def test_all_grilled_beef_together_keeps_seventy_eight_of_a_hundred():
    """USDA Cooking Yields 2014, retail all cuts, grilled (seen): 78 %, sd 4.39, n 458."""
    row = cooking_yield("beef", "retail all cuts", "broiled")[0]
    assert (row.yield_pct, row.sd, row.samples) == (78, Decimal("4.39"), 458)
    raw = Weight.of(1, WeightUnit.KG)
    assert cooked_weight(raw, row) == Weight.of(780, WeightUnit.G)


def test_every_yield_lies_within_its_own_range():
    """USDA Cooking Yields 2014, main table (seen): within min and max, to the printed whole."""
    rows = [row for name in SPECIES for row in cooking_yield(name) if row.min_pct is not None]
    assert len(rows) > 100
    half = Decimal("0.5")
    for row in rows:
        assert row.min_pct - half <= row.yield_pct <= row.max_pct + half, row.cut


def test_the_table_is_complete():
    """USDA Cooking Yields 2014 (seen): 173 rows, as the source counts them."""
    rows = [row for name in SPECIES for row in cooking_yield(name)]
    assert sum(row.source.source_id == "USDA_CY2" for row in rows) == 173


@pytest.mark.parametrize(("dry", "wet"), [("grilled", "braised"), ("roasted", "braised")])
def test_boneless_beef_keeps_more_weight_by_dry_heat(dry, wet):
    """USDA Cooking Yields 2014, pooled beef rows (seen): 78-79 % dry, 67 % braised."""
    words = {"grilled": "retail all cuts", "roasted": "retail boneless all temps"}
    raw = Weight.of("7", WeightUnit.LB)
    by_dry = cooked_weight(raw, cooking_yield("beef", words[dry], dry)[0])
    by_wet = cooked_weight(raw, cooking_yield("beef", "retail cuts all boneless", wet)[0])
    assert by_dry > by_wet
