"""Canadian provincial guideline (quoted), Grower Guidelines for Poultry, 2007 (BCGROW)."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from collop.measures import Weight, WeightUnit
from collop.reference import chicken_parts


def test_a_live_bird_dresses_to_the_printed_carcass():
    """Grower Guidelines, p. 4 (seen): 4.4 lb live x 75 % = 3.3 lb."""
    (row,) = (row for row in chicken_parts("CHICKEN_BCGROW") if "water chilled" in row.part)
    live = Weight.of("4.4", WeightUnit.LB)
    dressed = live.exact(WeightUnit.LB) * Fraction(row.pct_of_base.low) / 100
    assert Weight.of(dressed, WeightUnit.LB).text() == "3.30 lb"


def test_the_classes_of_birds_do_not_overlap():
    """Grower Guidelines, p. 4 (seen): game hen 1.5, fryer 3-4, roaster 5-6, stewing hen 6+ lb."""
    spans = [row.weight for row in chicken_parts("CHICKEN_BCGROW", kind="class")]
    assert spans[-1].high is None
    assert all(one.high <= two.low for one, two in pairwise(spans))
