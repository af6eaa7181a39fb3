"""Kitchen guide, To thaw safely (THAW_CUTS)."""

from __future__ import annotations

import pytest

from collop.measures import Weight, WeightUnit
from collop.reference import keeping_rows, thaw_hours

ROWS = {row.item: row for row in keeping_rows("thaw", cited_only=True)}


@pytest.mark.parametrize(
    "item", ["1 in package ground beef, refrigerator", "1 in steak, refrigerator"]
)
def test_a_small_pack_is_never_planned_too_short(item):
    """To thaw safely (seen): a 1 in package takes 24 h, a 1 in steak 12-14 h."""
    assert thaw_hours(Weight.of("0.5", WeightUnit.LB)).planned >= ROWS[item].high


def test_a_large_roast_is_planned_within_the_printed_hours_but_not_at_their_end():
    """To thaw safely, large roast (seen): 4-7 h a pound; the plan has 6 h, so it is looked at."""
    row = ROWS["large roast, refrigerator"]
    planned = thaw_hours(Weight.of(10, WeightUnit.LB)).planned
    assert row.low * 10 <= planned <= row.high * 10
    assert planned == 60


def test_a_small_roast_is_planned_at_or_above_the_printed_hours():
    """To thaw safely, small roast (seen): 3-5 h a pound."""
    row = ROWS["small roast, refrigerator"]
    assert thaw_hours(Weight.of(3, WeightUnit.LB)).planned >= row.high * 3
